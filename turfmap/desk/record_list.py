"""The records of a place, listed and handed out: table, CSV, JSON, a sheet to print."""

import json
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from turfmap.desk.record_duties import deadlines, missing_elements, posting
from turfmap.desk.record_ground import is_chemical, rows_of_frame
from turfmap.foundations.checks import as_text
from turfmap.foundations.dates import iso_date
from turfmap.foundations.definitions import Row, map_layer
from turfmap.foundations.errors import InputFaultsError, input_fault
from turfmap.store import geopackage, visits
from turfmap.store.csv_text import write_csv
from turfmap.store.written_files import HTML_MARK, JSON_MARK, write_whole
from turfmap.views.record_sheet import RecordOnPaper, record_sheet

STANDS, CORRECTED, CANCELLED = "stands", "corrected", "cancelled"


def records(path: Path, *, property_name: str | None = None) -> dict[str, Any]:
    """List every record of a place, those that no longer count among them.

    Returns
    -------
    dict
        ``records``: for each its name in ``record``, ``status`` (stands, corrected, cancelled),
        ``rows`` (of the layer visit), ``property``, ``task``, ``date``, ``product``, ``amount``
        and ``amount_unit``, ``area_treated_m2`` (sums over its rows), ``missing``, ``deadlines``,
        ``posting``.

    Raises
    ------
    InputFaultsError
        If the file cannot be read, or it has no such property.
    """
    frame = geopackage.read_layer(path, "visit")
    frame = frame.assign(record=visits.record_names(frame))
    stands = set(visits.standing(frame)["id"])
    frame["status"] = [
        STANDS if name in stands else CANCELLED if gone else CORRECTED
        for name, gone in zip(frame["id"], visits.cancelled(frame), strict=True)
    ]
    states = dict(geopackage.read_layer(path, "property")[["name", "state"]].to_numpy())
    _check_property(property_name, {*states, *frame["property"]}, file=str(path))
    found: dict[str, list[Row]] = {}
    for row in rows_of_frame(frame.drop(columns="fid")):
        if property_name in {None, row["property"]}:
            found.setdefault(row["record"], []).append(row)
    return {"records": [_one(name, rows, states) for name, rows in found.items()]}


def _check_property(name: str | None, known: set[str], *, file: str) -> None:
    if name is not None and name not in known:
        few = ", ".join(sorted(known)[:10]) or "none yet"
        raise input_fault(
            f"there is no property {name!r}", f"choose one that is there ({few})", file=file
        )


def _one(name: str, rows: Sequence[Row], states: Mapping[str, Any]) -> dict[str, Any]:
    first = rows[0]
    asks = is_chemical(first) and first["status"] == STANDS
    amounts = [row["amount"] for row in rows if row["amount"] is not None]
    areas = [row["area_treated_m2"] for row in rows if row["area_treated_m2"] is not None]
    return {
        "record": name,
        "status": first["status"],
        **{key: first[key] for key in ("property", "task", "date", "product", "amount_unit")},
        "zones": [row["zone"] for row in rows if row["zone"]],
        "amount": sum(amounts) if amounts else None,
        "area_treated_m2": sum(areas) if areas else None,
        "missing": missing_elements(rows) if asks else [],
        "deadlines": _deadlines(first["date"]) if asks else [],
        "posting": posting(states.get(first["property"])) if asks else [],
        "rows": [dict(row) for row in rows],
    }


def _deadlines(date_text: Any) -> list[Row]:
    try:
        return deadlines(iso_date(as_text(date_text)[:10], record="date"))
    except InputFaultsError:  # another program wrote something else
        return []


def export(path: Path, out: Path, *, property_name: str | None = None) -> dict[str, Any]:
    """Write the records as CSV, JSON or an HTML sheet to print, by the ending of the name.

    Returns
    -------
    dict
        ``out`` and how many ``records`` are in it.

    Raises
    ------
    InputFaultsError
        If the ending is another, or a file cannot be read or written.
    """
    writers: dict[str, Callable[[Path, list[dict[str, Any]]], None]] = {
        ".csv": _write_csv,
        ".json": _write_json,
        ".html": _write_sheet,
    }
    write = writers.get(out.suffix.lower())
    if write is None:
        raise input_fault(
            f"{out.suffix or 'no ending'} is not an ending that this can write",
            "end its name in .csv, .json or .html",
            file=str(out),
        )
    found = records(path, property_name=property_name)["records"]
    write(out, found)
    return {"out": str(out), "records": len(found)}


def _write_csv(out: Path, found: list[dict[str, Any]]) -> None:
    columns = ["record", "status", "id", *(c for c in map_layer("visit").columns if c != "record")]
    rows = [
        row | {"missing": "; ".join(lacking["words"] for lacking in one["missing"])}
        for one in found
        for row in one["rows"]
    ]
    write_csv(out, [*columns, "missing"], rows)


def _write_json(out: Path, found: list[dict[str, Any]]) -> None:
    text = json.dumps({"made_by": "turfmap", "records": found}, ensure_ascii=False, indent=1)
    write_whole(out, text + "\n", mark=JSON_MARK, endings=(".json",))


def _write_sheet(out: Path, found: list[dict[str, Any]]) -> None:
    papers = [
        RecordOnPaper(
            name=one["record"],
            status=one["status"],
            rows=one["rows"],
            missing=[lacking["words"] for lacking in one["missing"]],
            duties=[*(due["words"] for due in one["deadlines"]), *one["posting"]],
        )
        for one in found
    ]
    write_whole(out, record_sheet(papers), mark=HTML_MARK, endings=(".html",))
