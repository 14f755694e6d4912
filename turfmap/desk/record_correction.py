"""Correct what was recorded: a new record takes the place of the old, which stays."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from turfmap.desk.record import recorded
from turfmap.desk.record_asked import PLAIN, read_asked
from turfmap.desk.record_drawing import both_given, drawing
from turfmap.desk.record_ground import rows_of_frame
from turfmap.foundations.definitions import Row
from turfmap.foundations.errors import input_fault
from turfmap.store import geopackage, visits

# A record may be meant by so much of the beginning of its name.
SHORTEST_NAME = 6
# Facts that belong to the correction alone; the site belongs to each zone's row.
NOT_KEPT = {"site", "corrects", "reason", "cancelled"}
# What was taken from the file because of another fact is not kept when that one changes.
TAKEN_ALONG = {
    "product": ("registration",),
    "property": ("zones", "customer", "address"),
}


def correct(
    path: Path,
    name: str,
    said: Mapping[str, Any],
    *,
    drawn_file: Path | None = None,
    unfinished: bool = False,
) -> dict[str, Any]:
    """Correct a record by a new one: what is not said again stays as it was.

    Parameters
    ----------
    path
        The place.
    name
        The record, as `record` and the list name it.
    said
        What is different, ``reason`` among it; ``cancelled`` if it was never done.
    drawn_file, unfinished
        As for `record`.

    Returns
    -------
    dict
        As `record`.

    Raises
    ------
    InputFaultsError
        If there is no such record, it was corrected already, or anything said is wrong.
    """
    frame = geopackage.read_layer(path, "visit")
    names = visits.record_names(frame)
    name = _whole_name(name, set(names), file=str(path))
    old = rows_of_frame(frame[names == name])
    kept = _as_said(old)
    for changed in TAKEN_ALONG.keys() & said.keys():
        kept = {fact: value for fact, value in kept.items() if fact not in TAKEN_ALONG[changed]}
    asked, faults = read_asked(
        {**kept, **said, "corrects": name}, file="", where=f"correction of {name}"
    )
    if asked is not None and drawn_file is not None:
        asked = replace(asked, drawn=drawing(drawn_file))
        faults = both_given(asked)
    elif asked is not None and not {"zones", "product", "area", "property"} & said.keys():
        asked = replace(asked, kept={row["zone"]: row for row in old})
    return recorded(path, [(asked, faults)], unfinished=unfinished)


def _whole_name(name: str, names: set[str], *, file: str) -> str:
    """Return the record that a person means by a name or by its beginning."""
    begun = [one for one in names if len(name) >= SHORTEST_NAME and one.startswith(name)]
    meant = [name] if name in names else begun
    if len(meant) != 1:
        problem = f"there is no record {name!r}" if not meant else f"{name!r} begins several"
        raise input_fault(problem, "see turfmap record … --list", file=file)
    return meant[0]


def _as_said(rows: Sequence[Row]) -> dict[str, Any]:
    """Return a record as a person would have said it, without its area and its reason."""
    first = rows[0]
    kept = PLAIN.keys() - NOT_KEPT
    said = {name: first[PLAIN[name]] for name in kept if first[PLAIN[name]] is not None}
    amounts = [row["amount"] for row in rows if row["amount"] is not None]
    if amounts:
        said["amount"] = f"{sum(amounts)!r} {first['amount_unit']}"
    if first["wind_m_per_s"] is not None:
        said["wind"] = f"{first['wind_m_per_s']!r} m/s {first['wind_from'] or ''}".strip()
    if first["air_c"] is not None:
        said["air"] = f"{first['air_c']!r} C"
    zones = [row["zone"] for row in rows if row["zone"]]
    return said | ({"zones": zones} if zones else {})
