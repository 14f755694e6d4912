"""What the weather says of the coming days: hours to spray in, soil, freezes, and what it lacks."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from turfmap.desk.own_rows import own_table
from turfmap.desk.season_inputs import chosen_zones, middles
from turfmap.desk.weather import METRES_PER_MILE, Given, PlaceWeather, place_weather
from turfmap.foundations.dates import day_words
from turfmap.foundations.errors import input_fault
from turfmap.foundations.units import celsius, fahrenheit
from turfmap.season.freezes import FreezeDays, freeze_days, next_freeze
from turfmap.season.signals import sensed, sensor_error_c
from turfmap.season.spray_hours import SprayHours, hours_of, spray_hours, spray_limits
from turfmap.season.weather import COLUMNS, Site, Weather
from turfmap.store.weather_file import read_weather_file

Plain = dict[str, Any]
FREEZES_F = {"freeze": 32.0, "hard freeze": 28.0}
SHARES = (0.1, 0.5, 0.9)
SOIL = {"soil_2in": "soil_2in_c", "soil_4in": "soil_4in_c"}
SOIL_DAYS = 7
MOST_DAYS = 16  # no forecast by the hour reaches further
LOOK = (
    "Before you spray, look: smoke or dust that hangs low and drifts flat means that the air lies"
    " in layers. Then no hour is fit, whatever is forecast."
)
NO_HOURS = (
    "No weather by the hour is given for these days: hours to spray in are not known. Give a"
    " forecast by the hour with --forecast."
)


@dataclass(frozen=True)
class Ahead:
    """Which days are looked at, and by which clock.

    Attributes
    ----------
    as_of
        The first of them.
    days
        How many.
    utc_offset_h
        How far the clock of the place is ahead of UTC [h]; None if not given: then every clock
        that may be kept at that longitude is minded.
    """

    as_of: date
    days: int = 5
    utc_offset_h: float | None = None


def weather_outlook(
    path: Path, ahead: Ahead, *, given: Given, property_name: str | None = None
) -> Plain:
    """Return what the weather of a place says of the coming days; nothing is written.

    Parameters
    ----------
    path
        The turfmap file.
    ahead
        The days looked at.
    given
        A weather file that wins over the weather in the place, a forecast, how gaps are filled.
    property_name
        Only this property.

    Returns
    -------
    dict
        ``as_of``; ``stations``, each with ``station, properties, record, gaps, soil, freezes,
        spray_days``; ``limits`` of the hours; ``cautions``.

    Raises
    ------
    InputFaultsError
        If a file needs mending, the property is not there, or more than 16 days are asked for.
    """
    if not 1 <= ahead.days <= MOST_DAYS:
        raise input_fault(
            f"{ahead.days} days are not from 1 to {MOST_DAYS}", "give fewer", record="--days"
        )
    _, zones = chosen_zones(path, property_name)
    places = middles(zones)
    found = place_weather(path, places, as_of=ahead.as_of, given=given)
    own = own_table(path, "spray_weather").by("limit")
    limits = spray_limits({name: float(row["value"]) for name, row in own.items()})
    hours = _hours(given, ahead)
    stations = []
    for number, name in enumerate(found.names):
        mine = [of for of, cell in found.cell_of.items() if cell == number]
        site = found.cells[number].site or _site([places[of] for of in mine])
        judged = _judged(_of(name, hours, found.names), site, ahead, limits)
        stations.append(_station(found, number, mine, judged, ahead))
    lacks = [NO_HOURS] if not any(one["spray_days"] for one in stations) else [LOOK]
    return {
        "as_of": ahead.as_of.isoformat(),
        "stations": stations,
        "limits": limits,
        "cautions": [*_label_first(), *lacks, *found.notes],
    }


def _label_first() -> list[str]:
    return ["The label's own limits of wind, heat and rain come before the hours told here."]


def _site(points: Sequence[tuple[float, float]]) -> Site | None:
    known = [point for point in points if np.isfinite(point).all()]
    return Site(known[0][1], known[0][0]) if known else None


def _hours(given: Given, ahead: Ahead) -> dict[str, list[Plain]]:
    """Return the hours of the days looked at, by station; a forecast's go before a record's."""
    found: dict[str, dict[Any, Plain]] = {}
    last = ahead.as_of + timedelta(days=ahead.days - 1)
    for file in (given.record, given.forecast):
        if file is None:
            continue
        read = read_weather_file(file, year=ahead.as_of.year)
        for row in read.hours if not read.is_typical else []:
            if ahead.as_of <= row["time"].date() <= last:
                station = row["station"] or file.stem
                found.setdefault(station, {})[row["time"]] = row
    return {station: list(rows.values()) for station, rows in found.items()}


def _of(name: str, hours: dict[str, list[Plain]], stations: Sequence[str]) -> list[Plain]:
    """Return the hours of a station; those of the only one there is are for all.

    Where there is one station, all hours are its own, whatever the files are called: those of the
    file read last, the forecast, go before others.
    """
    if len(stations) == 1:
        by_time = {row["time"]: row for rows in hours.values() for row in rows}
        return [by_time[time] for time in sorted(by_time)]
    if name in hours:
        return hours[name]
    return next(iter(hours.values())) if len(hours) == 1 else []


def _judged(
    rows: list[Plain], site: Site | None, ahead: Ahead, limits: dict[str, float]
) -> SprayHours | None:
    """Return which hours bear spraying, fit only if they are by every clock that may be meant."""
    laid = hours_of(rows)
    if laid is None or site is None:
        return None
    if ahead.utc_offset_h is not None:
        clocks = [ahead.utc_offset_h]
    else:
        west_h = float(np.floor(site.longitude / 15.0))
        clocks = [west_h, west_h + 1.0]
    first, *others = (
        spray_hours(laid, site=site, utc_offset_h=clock, limits=limits) for clock in clocks
    )
    for other in others:
        against = {name: marks | other.against[name] for name, marks in first.against.items()}
        first = replace(first, is_fit=first.is_fit & other.is_fit, against=against)
    return first


def _station(
    found: PlaceWeather, number: int, mine: list[str], judged: SprayHours | None, ahead: Ahead
) -> Plain:
    weather = found.cells[number]
    far_m = [found.distance_m[of] for of in mine]
    miles = sorted(one / METRES_PER_MILE for one in far_m if one is not None)
    return {
        "station": found.names[number] or None,
        "properties": len(mine),
        "miles": [round(miles[0], 1), round(miles[-1], 1)] if miles else None,
        "record": _record(weather),
        "gaps": _gaps(weather),
        "soil": _soil(weather, ahead.as_of),
        "freezes": [_freeze(weather, name, ahead.as_of) for name in FREEZES_F],
        "spray_days": [] if judged is None else _days(judged),
    }


def _record(weather: Weather) -> Plain:
    last = weather.last_recorded_day
    return {
        "first": weather.first_day.isoformat() if weather.days and last else None,
        "last": last.isoformat() if last else None,
        "forecast_to": weather.last_day.isoformat()
        if weather.forecast_from is not None and weather.last_day
        else None,
        "is_typical_year": weather.is_typical,
    }


def _gaps(weather: Weather) -> list[Plain]:
    """Return how many recorded days each column lacks, and its longest gap [d]."""
    recorded = ~weather.is_forecast
    found = []
    for name in COLUMNS:
        missing = np.isnan(weather.column(name))[recorded]
        if name in SOIL.values() and missing.all():
            continue  # most stations measure no soil; it is estimated
        if missing.any():
            runs = np.split(missing, np.flatnonzero(np.diff(missing.astype(np.int8))) + 1)
            longest = max(len(run) for run in runs if run[0])
            found.append({"column": name, "days": int(missing.sum()), "longest_d": longest})
    return found


def _soil(weather: Weather, as_of: date) -> list[Plain]:
    """Return the soil's temperature on the last days, as far as it is known."""
    found = []
    for sensor, column in SOIL.items():
        if not weather.days:
            continue
        values_c, _ = sensed(weather, sensor)
        measured_c = weather.last(weather.column(column), as_of, SOIL_DAYS)
        last_c = weather.last(values_c, as_of, SOIL_DAYS)
        for back, (value_c, own_c) in enumerate(zip(last_c, measured_c, strict=True)):
            if np.isfinite(value_c):
                day = as_of - timedelta(days=SOIL_DAYS - 1 - back)
                is_measured = bool(np.isfinite(own_c))
                found.append(
                    {
                        "sensor": sensor,
                        "date": day.isoformat(),
                        "value_f": round(float(fahrenheit(value_c)), 1),
                        "error_f": None if is_measured else round(sensor_error_c(sensor) * 1.8, 1),
                    }
                )
    return found


def _freeze(weather: Weather, name: str, as_of: date) -> Plain:
    """Return how likely a freeze is by a day, from whole winters alone, and the next one seen."""
    threshold_f = FREEZES_F[name]
    threshold_c = float(celsius(threshold_f))
    past = freeze_days(weather, threshold_c=threshold_c)
    winter = as_of.year - (as_of < date(as_of.year, *past.begins))
    coming = next_freeze(weather, since=as_of, threshold_c=threshold_c)
    return {
        "freeze": name,
        "at_or_under_f": threshold_f,
        "first_by": _by_share(past, winter, "first"),
        "last_by": _by_share(past, winter, "last"),
        "share_come_by_today": past.share_frozen_by(as_of),
        "share_to_come_after_today": past.share_freezing_after(as_of),
        "rests_on": past.words(),
        "next": coming.day.isoformat() if coming.day else None,
        "next_words": coming.words(),
    }


def _by_share(past: FreezeDays, winter: int, which: str) -> dict[str, str | None]:
    found = {}
    for share in SHARES:
        ask = past.first_by_share if which == "first" else past.last_by_share
        day = ask(share, winter=winter)
        found[f"{share:.0%}"] = day.isoformat() if day else None
    return found


def _days(judged: SprayHours) -> list[Plain]:
    """Return the fit hours of each day as spans, and what speaks against the others."""
    return [
        {
            "date": day.isoformat(),
            "words": day_words(day),
            "fit_hours": fit,
            "spans": _spans(judged, day),
            "against": judged.day_reasons(day),
        }
        for day, fit in judged.by_day().items()
    ]


def _spans(judged: SprayHours, day: date) -> list[str]:
    times = [judged.hours.time(int(place)) for place in np.flatnonzero(judged.is_fit)]
    fit = [time.hour for time in times if time.date() == day]
    spans: list[list[int]] = []
    for hour in fit:
        if spans and spans[-1][1] == hour:
            spans[-1][1] = hour + 1
        else:
            spans.append([hour, hour + 1])
    return [f"{first:02}:00 to {last:02}:00" for first, last in spans]
