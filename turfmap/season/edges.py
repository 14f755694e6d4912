"""The day on which a window's edge falls: one small function for each basis.

A basis is a pure function of the row, the evidence and the days searched. It says the first day
on which its signal was seen, and how far the record let it look. Where nothing was seen, the edge
is put on the calendar day, or on the day after the last one searched if that is later: a warmer
autumn can only move a falling threshold later, never earlier.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from turfmap.foundations.dates import on_month_day
from turfmap.foundations.definitions import Row
from turfmap.foundations.units import MILLIMETRES_PER_INCH, celsius
from turfmap.season.signals import degree_days, run_ends, sensed
from turfmap.season.weather import Weather

FRONT_D = 2  # rain on the day of a cold night or the day before belongs to the same front


@dataclass(frozen=True, eq=False)
class Evidence:
    """What edges are judged by: daily weather up to the day asked about, and visits by task."""

    weather: Weather
    visits: Mapping[str, tuple[date, ...]]


@dataclass(frozen=True)
class Sight:
    """What a basis saw in the days searched.

    Attributes
    ----------
    seen
        The first day on which the signal was met.
    searched_to
        The last day that could be judged; None if no day could.
    estimated
        Whether soil temperature was estimated from the air.
    """

    seen: date | None
    searched_to: date | None
    estimated: bool = False


@dataclass(frozen=True)
class Edge:
    """Where a row of the window table puts its edge in one year."""

    day: date
    sight: Sight
    row: Row


Basis = Callable[[Row, Evidence, date, date], Sight]


def edge(row: Row, evidence: Evidence, year: int) -> Edge:
    """Return the edge of a row of the window table whose calendar day lies in `year`."""
    on = on_month_day(year, row["on"])
    first = _on_or_before(row["earliest"], on)
    latest = _on_or_after(row["latest"], on)
    sight = BASES[row["basis"]](row, evidence, first, latest)
    if sight.seen is not None:
        day = min(max(sight.seen, first), latest)
    elif sight.searched_to is not None:
        day = min(max(on, sight.searched_to + timedelta(days=1)), latest)
    else:
        day = on
    return Edge(day, sight, row)


def on_the_date(_row: Row, _evidence: Evidence, _first: date, _latest: date) -> Sight:
    """See nothing: the calendar day stands."""
    return Sight(None, None)


def sensor_run(row: Row, evidence: Evidence, first: date, latest: date) -> Sight:
    """See the end of a run of days at or past a temperature."""
    values_c, estimated = sensed(evidence.weather, row["sensor"])
    threshold_c = celsius(row["value"])
    with np.errstate(invalid="ignore"):
        met = values_c <= threshold_c if row["direction"] == "falling" else values_c >= threshold_c
    ends = run_ends(met, int(row["days"]))
    return _sight(evidence.weather, ends, np.isfinite(values_c), (first, latest), estimated)


def cooling_front(row: Row, evidence: Evidence, first: date, latest: date) -> Sight:
    """See rain with a cool night: absolute figures, so that a warm spell before cannot make one."""
    weather = evidence.weather
    wet = weather.rain_mm >= row["rain_in"] * MILLIMETRES_PER_INCH
    wet_lately = wet.copy()
    for back in range(1, FRONT_D):
        wet_lately[back:] |= wet[:-back]
    met = wet_lately & (weather.air_min_c <= celsius(row["value"]))
    known = np.isfinite(weather.rain_mm) & np.isfinite(weather.air_min_c)
    return _sight(weather, met, known, (first, latest))


def degree_day_sum(row: Row, evidence: Evidence, first: date, latest: date) -> Sight:
    """See the sum of degree-days since `first` reach a threshold; the sum stops at a gap."""
    weather = evidence.weather
    scale = 1.0 if row["unit"] == "F-days" else 1.0 / 1.8
    each = degree_days(
        weather.air_min_c * 1.8 + 32.0, weather.air_max_c * 1.8 + 32.0, base=row["base_f"]
    )
    start = max(weather.position(first), 0)
    total = np.full(len(each), np.nan)
    if weather.position(first) >= 0:
        total[start:] = np.cumsum(each[start:]) * scale
    with np.errstate(invalid="ignore"):
        met = total >= row["value"]
    return _sight(weather, met, np.isfinite(total), (first, latest))


def after_visit(row: Row, evidence: Evidence, first: date, latest: date) -> Sight:
    """See the day that lies some days after the task it follows was done this season."""
    wait = timedelta(days=int(row["value"]))
    days = [day + wait for day in evidence.visits.get(row["after_task"], ())]
    # A visit half a year off belongs to another season.
    season = [day for day in days if first - timedelta(days=90) <= day <= latest + wait]
    return Sight(max(season, default=None), None)


BASES: Mapping[str, Basis] = {
    "date": on_the_date,
    "soil_temperature": sensor_run,
    "air_minimum": sensor_run,
    "air_mean": sensor_run,
    "freeze": sensor_run,
    "cooling_front": cooling_front,
    "degree_days": degree_day_sum,
    "after_task": after_visit,
}


def _sight(
    weather: Weather,
    met: np.ndarray,
    known: np.ndarray,
    span: tuple[date, date],
    estimated: bool = False,
) -> Sight:
    start = max(weather.position(span[0]), 0)
    stop = min(weather.position(span[1]) + 1, weather.days)
    if stop <= start:
        return Sight(None, None)
    hits = np.flatnonzero(met[start:stop])
    judged = np.flatnonzero(known[start:stop])
    return Sight(
        weather.day(start + hits[0]) if len(hits) else None,
        weather.day(start + judged[-1]) if len(judged) else None,
        estimated,
    )


def _on_or_before(month_day: str | None, on: date) -> date:
    if month_day is None:
        return on
    day = on_month_day(on.year, month_day)
    return day if day <= on else on_month_day(on.year - 1, month_day)


def _on_or_after(month_day: str | None, on: date) -> date:
    if month_day is None:
        return on + timedelta(days=180)
    day = on_month_day(on.year, month_day)
    return day if day >= on else on_month_day(on.year + 1, month_day)
