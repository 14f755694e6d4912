"""Hours fit to work in on each day of a plan, out of a forecast; days without one are told."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from turfmap.days.plan.problem import HOUR_S, Span
from turfmap.foundations.dates import day_words
from turfmap.foundations.units import METRES_PER_SECOND_PER_MPH, MILLIMETRES_PER_INCH, celsius
from turfmap.season.spray_hours import (
    SprayHours,
    hours_of,
    spray_hours,
    spray_limits,
)
from turfmap.season.weather import Site
from turfmap.store.weather_file import WeatherFile, read_weather_file

# A day is forecast by the hour if so many of its hours are.
HOURS_ENOUGH = 20
NOT_FORECAST = "not forecast: look before you go"
DAY = [(0, 24 * HOUR_S)]


@dataclass(frozen=True)
class Forecast:
    """What a forecast says of the days of a plan.

    Attributes
    ----------
    fit
        Hours fit to work in [s of the day] of each day that is forecast; no span: none.
    words
        What is said of each of those days.
    notes
        What must be said of the forecast.
    """

    fit: Mapping[date, Sequence[Span]]
    words: Mapping[date, str]
    notes: list[str]

    def of(self, day: date) -> str:
        """Return what is said of a day."""
        return self.words.get(day, NOT_FORECAST)


def forecast_of(
    file: Path | None, days: Sequence[date], *, site: Site, utc_offset_h: float
) -> Forecast:
    """Read which hours of some days bear work; an hour of which anything is unknown does not.

    Of several stations, an hour is fit only if it is at each of them.

    Raises
    ------
    InputFaultsError
        If the file needs mending.
    """
    if file is None:
        note = "No forecast was given: every day is planned as if it were fit to spray on."
        return Forecast({}, {}, [note])
    read = read_weather_file(file, year=days[0].year)
    fit, words = _by_hour(read, site, utc_offset_h) if read.hours else _by_day(read)
    fit = {day: spans for day, spans in fit.items() if day in set(days)}
    missing = [day for day in days if day not in fit]
    notes = list(read.notes)
    if missing:
        notes.append(
            f"{len(missing)} days of the plan are not forecast, the first {day_words(missing[0])}:"
            " they are planned as if they were fit to spray on."
        )
    if not read.hours:
        notes.append("The forecast is by the day: hours of wind, calm and rain are not known.")
    return Forecast(fit, words, notes)


Fit = dict[date, list[Span]]


def _by_hour(read: WeatherFile, site: Site, utc_offset_h: float) -> tuple[Fit, dict[date, str]]:
    stations = sorted({row["station"] or "" for row in read.hours})
    fit: dict[datetime, bool] = {}
    words: dict[date, str] = {}
    for station in stations:
        hours = hours_of(row for row in read.hours if (row["station"] or "") == station)
        if hours is None:
            continue
        limits = spray_limits()
        found = spray_hours(hours, site=site, utc_offset_h=utc_offset_h, limits=limits)
        for place in range(hours.hours):
            at = hours.time(place)
            fit[at] = fit.get(at, True) and bool(found.is_fit[place])
        words |= _words(found, words)
    counts: dict[date, int] = {}
    for at in fit:
        counts[at.date()] = counts.get(at.date(), 0) + 1
    days = [day for day, count in sorted(counts.items()) if count >= HOURS_ENOUGH]
    spans = {day: _spans(day, fit) for day in days}
    return spans, {day: _with_hours(spans[day], words.get(day, "")) for day in days}


def _words(found: SprayHours, before: Mapping[date, str]) -> dict[date, str]:
    """Return what speaks against hours of each day; of several stations the first with anything."""
    return {day: before.get(day) or "; ".join(found.day_reasons(day)[:3]) for day in found.by_day()}


def _spans(day: date, fit: Mapping[datetime, bool]) -> list[Span]:
    start = datetime.combine(day, time())
    spans: list[Span] = []
    for hour in range(24):
        if not fit.get(start + timedelta(hours=hour), False):
            continue
        begin, end = hour * HOUR_S, (hour + 1) * HOUR_S
        if spans and spans[-1][1] == begin:
            spans[-1] = (spans[-1][0], end)
        else:
            spans.append((begin, end))
    return spans


def _with_hours(spans: Sequence[Span], against: str) -> str:
    fit = ", ".join(f"{a // HOUR_S:02d}:00 to {b // HOUR_S:02d}:00" for a, b in spans)
    said = f"fit to spray {fit}" if fit else "no hour fit to spray"
    return f"{said} (against the others: {against})" if against else said


def _by_day(read: WeatherFile) -> tuple[Fit, dict[date, str]]:
    fit: Fit = {}
    words: dict[date, str] = {}
    for row in read.rows:
        day, against = row["date"], _against(row)
        fit[day] = [] if against or fit.get(day) == [] else list(DAY)
        if against or day not in words:
            words[day] = against or "nothing in the day's forecast speaks against it"
    return fit, words


def _against(row: Mapping[str, Any]) -> str:
    """Return what in a day's forecast speaks against it; what is not forecast does not."""
    limits, wind = spray_limits(), METRES_PER_SECOND_PER_MPH
    tests = (
        ("rain_mm", 1, limits["rain_least"] * MILLIMETRES_PER_INCH, "rain"),
        ("wind_m_per_s", 1, limits["wind_most"] * wind, "wind"),
        ("air_min_c", 1, celsius(limits["air_most"]), "heat"),
        ("air_max_c", -1, -celsius(limits["air_least"]), "cold"),
    )
    found = [
        words
        for name, sign, most, words in tests
        if row.get(name) is not None and sign * row[name] >= most
    ]
    return ", ".join(found)
