"""A daily weather record as CSV, from any station: columns by name, units in the name."""

import csv
import io
import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from turfmap.foundations.dates import day_words
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.foundations.units import MILLIMETRES_PER_INCH, celsius

MOST_BYTES = 20_000_000
MOST_ROWS = 100_000
MOST_FAULTS = 200  # a file with the wrong unit throughout need not say so 10,000 times


@dataclass(frozen=True)
class Quantity:
    """A daily quantity: its column here, its columns there with what makes SI of them, its range.

    Attributes
    ----------
    low, high
        The range that is possible, in the unit of `column`.
    """

    column: str
    theirs: dict[str, Callable[[float], float]]
    low: float
    high: float


def _temperature(name: str) -> Quantity:
    return Quantity(f"{name}_c", {f"{name}_f": celsius, f"{name}_c": float}, -60.0, 60.0)


QUANTITIES = (
    _temperature("air_min"),
    _temperature("air_max"),
    Quantity(
        "rain_mm", {"rain_in": lambda rain: rain * MILLIMETRES_PER_INCH, "rain_mm": float}, 0, 2000
    ),
    _temperature("soil_2in"),
    _temperature("soil_4in"),
)
_OUTSIDE = {"_f": "degrees F", "_c": "degrees C", "in": "inches", "mm": "mm"}


@dataclass(frozen=True)
class WeatherFile:
    """A weather record.

    Attributes
    ----------
    rows
        One dict a day, by station and date: ``station, date, air_min_c, air_max_c, rain_mm,
        soil_2in_c, soil_4in_c``; None where not given.
    notes
        What a reader should know: gaps, columns that were not used.
    """

    rows: list[dict[str, Any]]
    notes: list[str]


def read_weather_file(path: Path) -> WeatherFile:
    """Read a daily weather CSV.

    The heading names ``date`` and any of ``air_min_f`` or ``air_min_c``, ``air_max_*``,
    ``rain_in`` or ``rain_mm``, ``soil_2in_*``, ``soil_4in_*``, in any order and case; ``station``
    where the file holds several.

    Raises
    ------
    InputFaultsError
        With every fault found, each naming its line.
    """
    file = str(path)
    lines = csv.reader(io.StringIO(_text(path), newline=""), strict=True)
    try:
        heading = [name.strip().lower() for name in next(lines, [])]
        used = _columns(heading, file)
        rows, faults = _rows(lines, heading, used, file)
    except csv.Error as error:
        raise input_fault(
            f"it is not CSV ({error})",
            "check the quotes there",
            file=file,
            record=f"line {lines.line_num}",
        ) from None
    if faults:
        raise InputFaultsError(faults)
    rows.sort(key=lambda row: (row["station"] or "", row["date"]))
    return WeatherFile(rows, _notes(rows, heading, used))


def _text(path: Path) -> str:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise input_fault(
                f"it is larger than {MOST_BYTES // 1_000_000} MB",
                "give one station, day by day",
                file=str(path),
            )
        return path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise input_fault(
            f"it cannot be read ({error.strerror})", "check the name", file=str(path)
        ) from None
    except UnicodeDecodeError:
        raise input_fault("it is not UTF-8 text", "save it as CSV in UTF-8", file=str(path)) from (
            None
        )


def _columns(heading: Sequence[str], file: str) -> dict[str, Quantity]:
    """Return the quantity of each column of the file that is used."""
    faults = []
    if "date" not in heading:
        faults.append(("there is no column date", "name the column of days date"))
    for name in dict.fromkeys(heading):
        if name and heading.count(name) > 1:
            faults.append((f"there are two columns {name}", "keep one"))
    used = {}
    for quantity in QUANTITIES:
        here = [name for name in quantity.theirs if name in heading]
        if len(here) > 1:
            faults.append((f"{' and '.join(here)} are both given", "keep one unit"))
        used.update(dict.fromkeys(here, quantity))
    if not faults and not used:
        wanted = ", ".join(name for quantity in QUANTITIES[:3] for name in quantity.theirs)
        faults.append(("it has no weather column", f"name columns as {wanted}"))
    if faults:
        raise InputFaultsError(Fault(file, "line 1", problem, mend) for problem, mend in faults)
    return used


def _rows(
    lines: Any, heading: list[str], used: dict[str, Quantity], file: str
) -> tuple[list[dict[str, Any]], list[Fault]]:
    rows: list[dict[str, Any]] = []
    faults: list[Fault] = []
    seen: dict[tuple[str | None, date], int] = {}
    for texts in lines:
        if not any(text.strip() for text in texts):
            continue
        line = lines.line_num
        row, problems = _row(dict(zip(heading, texts, strict=False)), used)
        if len(texts) > len(heading):
            problems.append((f"it has {len(texts)} values for {len(heading)} columns", "mend it"))
        day = (row["station"], row["date"])
        if day in seen:
            problems.append((f"{row['date']} is given on line {seen[day]} too", "keep one of them"))
        elif row["date"] is not None:
            seen[day] = line
        rows.append(row)
        faults += [Fault(file, f"line {line}", problem, mend) for problem, mend in problems]
        if len(rows) > MOST_ROWS or len(faults) > MOST_FAULTS:
            faults.append(Fault(file, f"line {line}", "reading stopped here", "mend it so far"))
            break
    return rows, faults


def _row(
    texts: dict[str, str], used: dict[str, Quantity]
) -> tuple[dict[str, Any], list[tuple[str, str]]]:
    row: dict[str, Any] = {"station": texts.get("station", "").strip() or None, "date": None}
    row |= {quantity.column: None for quantity in QUANTITIES}
    problems = []
    day = texts["date"].strip() if "date" in texts else ""
    try:
        row["date"] = date.fromisoformat(day)
    except ValueError:
        problems.append((f"{day[:40]!r} is not a date", "write it as YYYY-MM-DD"))
    for name, quantity in used.items():
        try:
            row[quantity.column] = _value(texts.get(name, "").strip(), name, quantity)
        except ValueError as error:
            problems.append((str(error), "correct it, or leave it empty if it was not measured"))
    low, high = row["air_min_c"], row["air_max_c"]
    if low is not None and high is not None and low > high:
        problems.append(("the lowest temperature is above the highest", "correct one of them"))
    return row, problems


def _value(text: str, name: str, quantity: Quantity) -> float | None:
    if not text or text.lower() in {"nan", "na"}:
        return None
    try:
        value = quantity.theirs[name](float(text))
    except ValueError:
        raise ValueError(f"{name} is {text[:40]!r}, which is not a number") from None
    if not quantity.low <= value <= quantity.high:
        raise ValueError(f"{name} is {text[:40]}, which no {_OUTSIDE[name[-2:]]} can be here")
    return value


def _notes(
    rows: Sequence[dict[str, Any]], heading: Sequence[str], used: dict[str, Quantity]
) -> list[str]:
    notes = []
    known = {"date", "station", *used}
    unused = [name for name in heading if name and name not in known]
    if unused:
        notes.append(f"Columns of the weather file not used: {', '.join(unused)[:200]}.")
    missing = 0
    first_gap = None
    for before, after in itertools.pairwise(rows):
        if before["station"] != after["station"]:
            continue
        gap_d = (after["date"] - before["date"]).days - 1
        missing += gap_d
        if gap_d and first_gap is None:
            first_gap = before["date"]
    if first_gap is not None:
        notes.append(
            f"The weather file lacks {missing} days, the first after {day_words(first_gap)};"
            " they are not filled in."
        )
    return notes
