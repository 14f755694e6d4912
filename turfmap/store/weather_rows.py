"""The lines of a weather CSV as rows in SI: which columns they have, what each figure is.

What cannot be read (a date that is none, a word for a number) is a fault. What was read and cannot
be (a gust of 300 mph) is left out and told.
"""

import csv
import io
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from turfmap.foundations.checks import as_text
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.store.weather_columns import NOT_MEASURED, PLACE, Quantity
from turfmap.store.weather_heading import Heading, weather_heading

MOST_ROWS = 200_000
MOST_FAULTS = 200  # a file with a bad date throughout need not say so 10,000 times
FIRST_YEAR, LAST_YEAR = 1850, 2200
LONGEST_NAME = 200
# More impossible figures than these in a column are a wrong unit, not a broken sensor.
MOST_IMPOSSIBLE_SHARE = 0.05
FEW_IMPOSSIBLE = 3

Values = dict[str, Any]


@dataclass
class Left:
    """Figures of one column that were left out."""

    impossible: int = 0
    first: str = ""
    marks: int = 0
    given: int = 0


@dataclass(frozen=True)
class WeatherRows:
    """What a weather CSV holds.

    Attributes
    ----------
    is_hourly
        Whether rows are hours, by the column ``time``, or days, by ``date``.
    rows
        ``station``, ``date`` or ``time``, and the columns of `DAILY` or `HOURLY`; None where a
        figure is not given or was left out. In the order of the file.
    places
        ``latitude, longitude, elevation_m`` of each station that has all of the first two.
    unused
        Columns that were not understood.
    left
        What was left out, by the name of its column in the file.
    crossed
        The lines on which the lowest temperature is above the highest.
    has_offsets
        Whether times say how far their clock is from UTC.
    """

    is_hourly: bool
    rows: list[Values]
    places: dict[str | None, Values]
    unused: list[str]
    left: dict[str, Left]
    crossed: list[int]
    has_offsets: bool


@dataclass
class _Reading:
    """How a file is read, and what has been met so far."""

    file: str
    heading: Heading
    rows: list[Values] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    seen: dict[tuple[str | None, date], int] = field(default_factory=dict)
    places: dict[str | None, Values] = field(default_factory=dict)
    left: dict[str, Left] = field(default_factory=dict)
    crossed: list[int] = field(default_factory=list)
    has_offsets: bool = False


def weather_rows(text: str, *, renamed: Mapping[str, str], file: str) -> WeatherRows:
    """Read the text of a weather CSV.

    Parameters
    ----------
    renamed
        Their column names to ours, such as ``{"TMAX": "air_max_f"}``.
    file
        The file as the user named it.

    Raises
    ------
    InputFaultsError
        With every fault found, each naming its line.
    """
    lines = csv.reader(io.StringIO(text, newline=""), strict=True)
    try:
        reading = _Reading(file, weather_heading(next(lines, []), renamed=renamed, file=file))
        for texts in lines:
            if any(text.strip() for text in texts):
                _take(reading, texts, lines.line_num)
            if len(reading.rows) > MOST_ROWS or len(reading.faults) > MOST_FAULTS:
                where = f"line {lines.line_num}"
                reading.faults.append(Fault(file, where, "reading stopped here", "mend it so far"))
                break
    except csv.Error as error:
        raise input_fault(
            f"it is not CSV ({error})",
            "check the quotes there",
            file=file,
            record=f"line {lines.line_num}",
        ) from None
    reading.faults += _unit_faults(reading)
    if reading.faults:
        raise InputFaultsError(reading.faults)
    return WeatherRows(
        reading.heading.when == "time",
        reading.rows,
        reading.places,
        reading.heading.unused,
        reading.left,
        reading.crossed,
        reading.has_offsets,
    )


def _take(reading: _Reading, texts: Sequence[str], line: int) -> None:
    """Read one line into the reading."""
    heading = reading.heading
    cells = dict(zip(heading.columns, texts, strict=False))
    row: Values = {"station": as_text(cells.get("station"))[:LONGEST_NAME] or None}
    problems = []
    try:
        row[heading.when], has_offset = _moment(cells.get(heading.when, "").strip(), heading.when)
        reading.has_offsets |= has_offset
    except ValueError as error:
        problems.append((str(error), _MENDS[heading.when]))
    row |= {quantity.column: None for quantity in heading.quantities}
    problems += _fill(row, cells, heading.used, reading.left, line)
    problems += _place(reading, row["station"], cells, line)
    if len(texts) > len(heading.columns):
        count = f"it has {len(texts)} values for {len(heading.columns)} columns"
        problems.append((count, "mend it"))
    problems += _twice(reading, row, line)
    _uncross(reading, row, line)
    reading.rows.append(row)
    reading.faults += [
        Fault(reading.file, f"line {line}", problem, mend) for problem, mend in problems
    ]


_MENDS = {
    "date": "write it as YYYY-MM-DD",
    "time": "write it as YYYY-MM-DDTHH:MM, by the clock of the place",
}


def _moment(text: str, when: str) -> tuple[date, bool]:
    """Read a day, or an hour by the clock that it was written by, and whether that is named."""
    has_offset = False
    try:
        found = date.fromisoformat(text) if when == "date" else datetime.fromisoformat(text)
        if isinstance(found, datetime):
            has_offset = found.tzinfo is not None
            found = found.replace(tzinfo=None)
    except ValueError:
        raise ValueError(f"{text[:40]!r} is not a {when}") from None
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise ValueError(f"{text[:40]!r} is not a {when} of a record")
    return found, has_offset


def _fill(
    row: Values,
    cells: Mapping[str, str],
    used: Mapping[str, Quantity],
    left: dict[str, Left],
    line: int,
) -> list[tuple[str, str]]:
    """Put the figures of a line into its row; return what is no figure."""
    problems = []
    for name, quantity in used.items():
        text = cells.get(name, "").strip()
        if not text or text.lower() in {"nan", "na"}:
            continue
        try:
            given = float(text)
        except ValueError:
            problem = f"{name} is {text[:40]!r}, which is not a number"
            problems.append((problem, "correct it, or leave it empty if it was not measured"))
            continue
        value = quantity.theirs[name](given)
        met = left.setdefault(name, Left())
        met.given += 1
        if quantity.low <= value <= quantity.high:
            row[quantity.column] = value
        elif given in NOT_MEASURED:
            met.marks += 1
        else:
            met.impossible += 1
            met.first = met.first or f"{text[:40]} on line {line}"
    return problems


def _place(
    reading: _Reading, station: str | None, cells: Mapping[str, str], line: int
) -> Iterator[tuple[str, str]]:
    """Note where a station stands; yield a fault where two lines disagree."""
    if not reading.heading.placing:
        return
    place: Values = dict.fromkeys(quantity.column for quantity in PLACE)
    yield from _fill(place, cells, reading.heading.placing, reading.left, line)
    if place["latitude"] is None or place["longitude"] is None:
        return
    first = reading.places.setdefault(station, place)
    if not all(
        math.isclose(first[name], place[name], abs_tol=1e-3) for name in ("latitude", "longitude")
    ):
        yield f"{station or 'the station'} stands elsewhere on earlier lines", "name it apart"


def _twice(reading: _Reading, row: Values, line: int) -> Iterator[tuple[str, str]]:
    """Yield a fault if the day or hour has been given before."""
    when = reading.heading.when
    moment = row.get(when)
    if moment is None:
        return
    whole = moment.replace(minute=0, second=0, microsecond=0) if when == "time" else moment
    first = reading.seen.setdefault((row["station"], whole), line)
    if first != line:
        if when == "time":
            mend = "keep one of them; where clocks were put back, give standard time"
            yield f"the hour of {moment} is given on line {first} too", mend
        else:
            yield f"{moment} is given on line {first} too", "keep one of them"


def _uncross(reading: _Reading, row: Values, line: int) -> None:
    """Leave out a day's temperatures whose lowest is above the highest."""
    low, high = row.get("air_min_c"), row.get("air_max_c")
    if low is not None and high is not None and low > high:
        row["air_min_c"] = row["air_max_c"] = None
        reading.crossed.append(line)


def _unit_faults(reading: _Reading) -> list[Fault]:
    """Return a fault for each column so full of impossible figures that its unit must be wrong."""
    return [
        Fault(
            reading.file,
            f"column {name}",
            f"{met.impossible} of its {met.given} figures cannot be, the first {met.first}",
            "check its unit, and give the unit in its name",
        )
        for name, met in reading.left.items()
        if met.impossible > max(FEW_IMPOSSIBLE, MOST_IMPOSSIBLE_SHARE * met.given)
    ]
