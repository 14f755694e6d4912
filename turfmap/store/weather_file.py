"""A weather record as CSV, from any station: columns by name, units in the name."""

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from turfmap.foundations.dates import day_words
from turfmap.store import weather_typical_year
from turfmap.store.csv_text import read_text
from turfmap.store.weather_hours import HOURS_SAID, days_of
from turfmap.store.weather_rows import Left, WeatherRows, weather_rows

MOST_BYTES = 40_000_000
MOST_SHOWN = 5  # lines named in a note


@dataclass(frozen=True)
class WeatherFile:
    """A weather record.

    Attributes
    ----------
    rows
        One dict a day, by station and date: ``station, date`` and the columns of
        `turfmap.store.weather_columns.DAILY`; None where not known.
    notes
        What a reader should know: gaps, figures left out, columns that were not used.
    hours
        The hourly rows behind the daily ones (``station, time`` and the columns of
        `turfmap.store.weather_columns.HOURLY`), by station and time; empty for a daily file.
    places
        ``latitude, longitude, elevation_m`` of each station, where the file says so.
    is_typical
        Whether it is a typical year and not what happened.
    """

    rows: list[dict[str, Any]]
    notes: list[str]
    hours: list[dict[str, Any]] = field(default_factory=list)
    places: Mapping[str | None, dict[str, Any]] = field(default_factory=dict)
    is_typical: bool = False


def read_weather_file(
    path: Path, *, renamed: Mapping[str, str] | None = None, year: int | None = None
) -> WeatherFile:
    """Read a weather CSV, daily or hourly, or a typical year.

    The heading of a daily file names ``date`` and any of ``air_min_f`` or ``air_min_c``,
    ``air_max_*``, ``rain_in`` or ``rain_mm``, ``soil_2in_*``, ``soil_4in_*``, ``humidity_pct``,
    ``humidity_min_pct``, ``humidity_max_pct``, ``dew_point_*``, ``wind_mph`` (or ``_m_per_s``,
    ``_km_per_h``, ``_knots``), ``gust_*``, ``solar_mj_per_m2`` or ``solar_w_per_m2``, in any order
    and case; that of an hourly file ``time``, ``air_*`` and the like. ``station`` stands where the
    file holds several, ``latitude``, ``longitude`` and ``elevation_m`` or ``elevation_ft`` where
    it says where they are.

    Parameters
    ----------
    renamed
        Their column names to ours.
    year
        The calendar year that a typical year (TMY3 or EPW) is laid on.

    Raises
    ------
    InputFaultsError
        With every fault found, each naming its line.
    """
    file = str(path)
    text = read_text(path, most_bytes=MOST_BYTES, fewer="give fewer stations or fewer years")
    if weather_typical_year.is_typical_year(text):
        typical = weather_typical_year.read_typical_year(path, text, year=year)
        days, _ = days_of(typical.hours)
        places: dict[str | None, dict[str, Any]] = {typical.station: typical.place}
        return WeatherFile(
            days, [*typical.notes, *_gap_notes(days)], typical.hours, places, is_typical=True
        )
    found = weather_rows(text, renamed=renamed or {}, file=file)
    notes = _reading_notes(found)
    rows, hours = found.rows, []
    if found.is_hourly:
        hours = sorted(found.rows, key=lambda row: (row["station"] or "", row["time"]))
        rows, short = days_of(hours)
        notes.append(f"Days are made of hours; {HOURS_SAID}.")
        if short:
            few = ", ".join(day_words(day) for day in short[:MOST_SHOWN])
            notes.append(f"Too few hours for some figures on {_counted(len(short), 'day')}: {few}.")
    rows.sort(key=lambda row: (row["station"] or "", row["date"]))
    return WeatherFile(rows, [*notes, *_gap_notes(rows)], hours, found.places)


def _reading_notes(found: WeatherRows) -> list[str]:
    notes = []
    if found.unused:
        unused = ", ".join(found.unused)[:200]
        notes.append(f"Columns of the weather file not used: {unused}.")
    for name, met in found.left.items():
        notes += _left_notes(name, met)
    if found.has_offsets:
        notes.append(
            "Times name their distance from UTC: they are taken as they stand, and a day is a day"
            " of that clock."
        )
    if found.crossed:
        few = ", ".join(map(str, found.crossed[:MOST_SHOWN]))
        notes.append(
            f"On {_counted(len(found.crossed), 'day')} the lowest temperature is above the highest"
            f" (line {few}): both were left out."
        )
    return notes


def _counted(count: int, noun: str) -> str:
    """Return a count with its noun: ``1 day``, ``3 days``."""
    return f"{count:,} {noun}" if count == 1 else f"{count:,} {noun}s"


def _left_notes(name: str, met: Left) -> list[str]:
    notes = []
    if met.impossible:
        notes.append(
            f"{_counted(met.impossible, 'figure')} of {name} impossible and left out, the first"
            f" {met.first}."
        )
    if met.marks:
        notes.append(f"{_counted(met.marks, 'figure')} of {name} read as “not measured”.")
    return notes


def _gap_notes(rows: Sequence[dict[str, Any]]) -> list[str]:
    missing = 0
    first_gap = None
    for before, after in itertools.pairwise(rows):
        if before["station"] != after["station"]:
            continue
        gap_d = (after["date"] - before["date"]).days - 1
        missing += gap_d
        if gap_d and first_gap is None:
            first_gap = before["date"]
    if first_gap is None:
        return []
    return [
        f"The weather file lacks {_counted(missing, 'day')}, the first after"
        f" {day_words(first_gap)};"
        " they are not filled in."
    ]
