"""Record what was done: checked, put on its ground, and added; nothing is ever changed."""

import secrets
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from turfmap.desk.record_asked import Asked, read_asked
from turfmap.desk.record_drawing import both_given, drawing
from turfmap.desk.record_duties import deadlines, entry_words, missing_elements, posting
from turfmap.desk.record_ground import Ground, is_chemical, rows_of_frame, rows_on_ground
from turfmap.foundations.definitions import Row
from turfmap.foundations.errors import Fault, InputFaultsError
from turfmap.store import geopackage, visits
from turfmap.store.record_file import read_record_file

# By these a record that comes twice is known to be the same.
SAME = ("property", "task", "date", "product", "start_time", "end_time", "applicator", "cancelled")


@dataclass(frozen=True)
class Ready:
    """A record that may be written."""

    name: str
    asked: Asked
    rows: list[Row]
    notes: list[str]
    cautions: list[str]


def record(
    path: Path, said: Any, *, drawn_file: Path | None = None, unfinished: bool = False
) -> dict[str, Any]:
    """Record one application or other work.

    Parameters
    ----------
    path
        The place.
    said
        Facts by name, see `turfmap.desk.record_asked.SAID`.
    drawn_file
        A vector file with the ground that was treated; all of its shapes together.
    unfinished
        Whether to keep it although elements are missing that a rule asks for.

    Returns
    -------
    dict
        ``records``: for each ``record`` (its name), ``property``, ``zones`` (zone, area, amount),
        ``missing``, ``advised``, ``deadlines``, ``posting``, ``notes``; ``already`` (names that
        were there), ``cautions``.

    Raises
    ------
    InputFaultsError
        With everything that is wrong with it; nothing has been written.
    """
    asked, faults = read_asked(said, file="", where="record")
    if asked is not None and drawn_file is not None:
        asked = replace(asked, drawn=drawing(drawn_file))
        faults = both_given(asked)
    return recorded(path, [(asked, faults)], unfinished=unfinished)


def record_from_file(path: Path, file: Path, *, unfinished: bool = False) -> dict[str, Any]:
    """Add the records of a JSON file; those that came before are known by their ``id``.

    Returns
    -------
    dict
        As `record`.

    Raises
    ------
    InputFaultsError
        With every fault of every record; nothing has been written.
    """
    read = []
    for number, said in enumerate(read_record_file(file), start=1):
        where = f"record {number}"
        asked, faults = read_asked(said, file=str(file), where=where)
        if asked is not None and asked.name is None:
            mend = "give each an id, so that bringing the file in twice does no harm"
            faults = [asked.fault("it has no id", mend)]
        read.append((asked, faults))
    return recorded(path, read, unfinished=unfinished)


def recorded(
    path: Path, read: Sequence[tuple[Asked | None, list[Fault]]], *, unfinished: bool
) -> dict[str, Any]:
    """Check records against the map and write those that are new: all, or none.

    Returns
    -------
    dict
        As `record`.

    Raises
    ------
    InputFaultsError
        With every fault, those of reading them among it.
    """
    ground = Ground(path)
    faults = [fault for _, found in read for fault in found]
    ready: list[Ready] = []
    for asked in (asked for asked, found in read if asked is not None and not found):
        rows, found, notes, cautions = rows_on_ground(asked, ground)
        if rows and not unfinished and not asked.values["cancelled"]:
            found = _element_faults(asked, rows)
        faults += found
        name = asked.name or secrets.token_hex(6)
        ready.append(Ready(name, asked, [row | {"record": name} for row in rows], notes, cautions))
    faults += _twice([one.asked for one in ready])
    if faults:
        raise InputFaultsError(faults)
    new, already, written_at = _written(path, ready)
    return {
        "records": [_told(one, ground) for one in new],
        "already": [one.name for one in already],
        "recorded_at": written_at,
        "cautions": list(dict.fromkeys(line for one in new for line in _cautions(one, written_at))),
    }


def _element_faults(asked: Asked, rows: Sequence[Row]) -> list[Fault]:
    lacking = missing_elements(rows)
    mend = "give it, or keep the record as it is with --unfinished"
    return [
        asked.fault(f"{one['words']} is missing ({', '.join(one['rules'])})", mend)
        for one in lacking
    ]


def _twice(asked: Iterable[Asked]) -> list[Fault]:
    seen: set[str] = set()
    corrected: set[str] = set()
    faults = []
    for one in asked:
        if one.name in seen:
            faults.append(one.fault(f"the id {one.name} is there twice", "give each its own"))
        if one.values["corrects"] in corrected:
            older = one.values["corrects"]
            faults.append(one.fault(f"{older} is corrected twice", "keep one of the two"))
        seen |= {one.name} if one.name else set()
        corrected |= {one.values["corrects"]} if one.values["corrects"] else set()
    return faults


def _written(path: Path, ready: Sequence[Ready]) -> tuple[list[Ready], list[Ready], str]:
    """Write what is new in one transaction, looking at what is there while nobody else writes."""
    with geopackage.editing(path) as connection:
        there = visits.read(connection, file=str(path))
        names = visits.record_names(there)
        by_name: dict[str, list[Row]] = {}
        for name, row in zip(names, rows_of_frame(there), strict=True):
            by_name.setdefault(name, []).append(row)
        corrected = {row["corrects"] for rows in by_name.values() for row in rows}
        already = [one for one in ready if one.name in by_name]
        new = [one for one in ready if one.name not in by_name]
        faults = [fault for one in already for fault in _differs(one, by_name[one.name])]
        known = by_name.keys() | {one.name for one in new}
        faults += [fault for one in new for fault in _correction_faults(one, known, corrected)]
        if faults:
            raise InputFaultsError(faults)
        rows = [row for one in new for row in one.rows]
        written_at = visits.append(connection, rows) if rows else visits.now(connection)
    return new, already, written_at


def _differs(one: Ready, there: Sequence[Row]) -> list[Fault]:
    """Find what a record says otherwise than the record of that name that is there."""
    here = one.rows[0]
    differing = [name for name in SAME if _plain(here[name]) != _plain(there[0][name])]
    amounts = [sum(row["amount"] or 0.0 for row in rows) for rows in (one.rows, there)]
    if abs(amounts[0] - amounts[1]) > 1e-9 * max(amounts):
        differing.append("amount")
    if not differing:
        return []
    problem = f"{one.name} is here already and says otherwise ({', '.join(differing)})"
    return [one.asked.fault(problem, f"correct it with --correct {one.name}")]


def _plain(value: object) -> str:
    return "" if value is None or value is False or value == 0 else str(value)


def _correction_faults(one: Ready, known: Iterable[str], corrected: set[str | None]) -> list[Fault]:
    older = one.asked.values["corrects"]
    if older and older not in set(known):
        return [one.asked.fault(f"there is no record {older!r} to correct", "see --list")]
    if older and older in corrected:
        problem = f"{older} was corrected already"
        return [one.asked.fault(problem, "correct the record that took its place: see --list")]
    return []


def _told(one: Ready, ground: Ground) -> dict[str, Any]:
    first = one.rows[0]
    asks = is_chemical(first) and not first["cancelled"]
    state = ground.properties.get(first["property"], {}).get("state")
    reentry_h = ground.products.get(first["product"] or "", {}).get("reentry_h")
    stay_off = entry_words(first["date"], first["end_time"], reentry_h)
    return {
        "record": one.name,
        "property": first["property"],
        "task": first["task"],
        "date": first["date"].isoformat(),
        "corrects": first["corrects"],
        "cancelled": bool(first["cancelled"]),
        "zones": [
            {key: row[key] for key in ("zone", "area_treated_m2", "amount", "amount_unit")}
            for row in one.rows
        ],
        "area_found_by": first["area_found_by"],
        "missing": missing_elements(one.rows) if asks else [],
        "advised": missing_elements(one.rows, "advised") if asks else [],
        "deadlines": deadlines(first["date"]) if asks else [],
        "posting": [*posting(state), stay_off] if asks else [],
        "notes": one.notes,
    }


def _cautions(one: Ready, written_at: str) -> list[str]:
    day = one.rows[0]["date"].isoformat()
    late = [f"{one.name} is dated {day}, after the day it was recorded on ({written_at[:10]})."]
    return [*one.cautions, *(late if day > written_at[:10] else [])]
