"""The truck file: a CSV, one truck a line."""

import csv
import io
from pathlib import Path
from typing import Any

from turfmap.foundations.checks import checked_rows
from turfmap.foundations.definitions import Column, Layer
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.store.csv_text import read_text

MOST_BYTES = 1_000_000
MOST_TRUCKS = 500


def _text(name: str, plain: str) -> Column:
    return Column(name, "text", plain=plain)


_COLUMNS = (
    Column("truck", "text", required=True, plain="What you call it."),
    Column("longitude", "number", "deg", True, minimum=-180, maximum=180, plain="Its depot."),
    Column("latitude", "number", "deg", True, minimum=-90, maximum=90, plain="Its depot."),
    _text("tanks", "What it carries: 200 gal; 100 gal PRODUCT; 300 lb."),
    _text("starts", "It leaves its depot from this time on: 07:00."),
    _text("ends", "It is back at its depot by this time: 18:00."),
    Column("shift_h", "number", "h", minimum=1, maximum=24, plain="The longest day."),
    _text("days", "Weekdays on which it works: Mon-Fri."),
    _text("off", "Days on which it does not: 2026-09-17; 2026-09-18."),
    _text("licences", "What its crew is licensed for: applicator."),
    _text("licensed_on", "Weekdays on which the licensed person is on it."),
    Column("refill_min", "number", "min", minimum=0, maximum=240, plain="How long a refill takes."),
    Column("most_refills", "whole", "1", minimum=0, maximum=20, plain="Refills a day at the most."),
    _text("crew", "Who is on it."),
)
TRUCK = Layer(
    "truck",
    "Trucks",
    "Each truck with its crew, its depot, its tanks and its hours.",
    None,
    ("truck",),
    {column.name: column for column in _COLUMNS},
)


def read_trucks(path: Path) -> list[dict[str, Any]]:
    """Read a truck file.

    Returns
    -------
    list of dict
        A checked row a truck, with every column of `TRUCK`.

    Raises
    ------
    InputFaultsError
        With every fault found, each naming its line.
    """
    text = read_text(path, most_bytes=MOST_BYTES, fewer="give one truck a line")
    try:
        rows = list(csv.DictReader(io.StringIO(text, newline="")))
    except csv.Error as error:
        raise input_fault(f"it is no CSV ({error})", "save it as CSV", file=str(path)) from None
    if not rows or len(rows) > MOST_TRUCKS:
        raise input_fault(
            f"it holds {len(rows)} trucks", f"give from 1 to {MOST_TRUCKS}", file=str(path)
        )
    if any(None in row for row in rows):
        number = next(number for number, row in enumerate(rows, start=2) if None in row)
        raise input_fault(
            "it has more cells than the first line has names",
            "put a text that holds commas in quotes",
            file=str(path),
            record=f"line {number}",
        )
    unknown = sorted({str(name) for name in rows[0]} - set(TRUCK.columns))
    if unknown:
        raise input_fault(
            f"it has columns that are not known: {', '.join(unknown)[:200]}",
            f"the columns are {', '.join(TRUCK.columns)}",
            file=str(path),
        )
    records = [f"line {number}" for number in range(2, len(rows) + 2)]
    found, faults = checked_rows(rows, TRUCK, file=str(path), records=records)
    all_faults = [fault for mine in faults for fault in mine]
    names = [row["truck"] for row in found]
    for name in sorted({name for name in names if name and names.count(name) > 1}):
        all_faults.append(Fault(str(path), name, "two trucks have that name", "rename one"))
    if all_faults:
        raise InputFaultsError(all_faults)
    return found
