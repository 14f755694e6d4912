"""The day on which a window's edge falls: one small function for each basis.

A basis is a pure function of the row, the evidence and the days searched. It says, for each of the
days asked about, the first day on which its signal had been seen by then, and how far the record
let it look. Where nothing was seen, the edge is put on the calendar day, or on the day after the
last one searched if that is later: a warmer autumn can only move a falling threshold later, never
earlier.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

from turfmap.foundations.dates import on_month_day
from turfmap.foundations.definitions import Row
from turfmap.foundations.units import MILLIMETRES_PER_INCH, celsius
from turfmap.season.known_weather import Days, Flags, KnownWeather
from turfmap.season.signals import degree_days, run_ends, sensed
from turfmap.season.weather import Floats

NEVER = 0
FRONT_D = 2  # rain on the day of a cold night or the day before belongs to the same front


@dataclass(frozen=True, eq=False)
class Evidence:
    """What edges are judged by: weather as known on each day, and the days of visits by task."""

    known: KnownWeather
    visits: Mapping[str, tuple[date, ...]]


@dataclass(frozen=True, eq=False)
class Sights:
    """What a basis saw in the days searched, by each of the days asked about; shape (days,).

    Attributes
    ----------
    seen
        The first day on which the signal was met; 0 if it was not.
    searched_to
        The last day that could be judged; 0 if no day could.
    estimated
        Whether soil temperature was estimated from the air.
    forecast_from
        The first day that is forecast and not recorded; None if none is.
    is_typical
        Whether the weather is that of a typical year and not what happened.
    """

    seen: Days
    searched_to: Days
    estimated: bool = False
    forecast_from: date | None = None
    is_typical: bool = False


@dataclass(frozen=True)
class Edge:
    """Where a row of the window table puts its edge in one year, as known on one day.

    Attributes
    ----------
    seen, searched_to
        As in `Sights`; None where there is no such day.
    is_forecast, is_typical
        Whether what was seen is forecast, or of a typical year.
    """

    row: Row
    day: date
    seen: date | None
    searched_to: date | None
    estimated: bool
    is_forecast: bool
    is_typical: bool = False


@dataclass(frozen=True, eq=False)
class Edges:
    """Where a row of the window table puts its edge in one year, as known on each day.

    Attributes
    ----------
    day
        The edge, shape (days,).
    """

    row: Row
    day: Days
    sights: Sights

    def at(self, place: int) -> Edge:
        """Return the edge as known on one of the days."""
        seen, ahead = _day(self.sights.seen[place]), self.sights.forecast_from
        return Edge(
            self.row,
            date.fromordinal(int(self.day[place])),
            seen,
            _day(self.sights.searched_to[place]),
            self.sights.estimated,
            seen is not None and ahead is not None and seen >= ahead,
            self.sights.is_typical,
        )


Basis = Callable[[Row, Evidence, date, date], Sights]


def edges(row: Row, evidence: Evidence, year: int) -> Edges:
    """Return the edges of a row of the window table whose calendar day lies in `year`."""
    on = _calendar_day(row, year)
    first, latest = _on_or_before(row["earliest"], on), _on_or_after(row["latest"], on)
    sights = BASES[row["basis"]](row, evidence, first, latest)
    seen = np.clip(sights.seen, first.toordinal(), latest.toordinal())
    waited = np.minimum(np.maximum(sights.searched_to + 1, on.toordinal()), latest.toordinal())
    unseen = np.where(sights.searched_to > NEVER, waited, on.toordinal())
    return Edges(row, np.where(sights.seen > NEVER, seen, unseen), sights)


def on_the_date(_row: Row, evidence: Evidence, _first: date, _latest: date) -> Sights:
    """See nothing: the calendar day stands."""
    return _nothing(evidence)


def sensor_run(row: Row, evidence: Evidence, first: date, latest: date) -> Sights:
    """See the end of a run of days at or past a temperature."""
    values_c, estimated = sensed(evidence.known.weather, row["sensor"])
    ends = run_ends(is_met(row, values_c), int(row["days"]))
    return _sights(evidence.known, ends, np.isfinite(values_c), (first, latest), estimated)


def is_met(row: Row, values_c: Floats) -> Flags:
    """Return the days on which a sensor was at or past a row's threshold [degC]."""
    threshold_c = celsius(row["value"])
    with np.errstate(invalid="ignore"):
        met: Flags = (
            values_c <= threshold_c if row["direction"] == "falling" else values_c >= threshold_c
        )
    return met


def cooling_front(row: Row, evidence: Evidence, first: date, latest: date) -> Sights:
    """See rain with a cool night: absolute figures, so that a warm spell before cannot make one."""
    weather = evidence.known.weather
    wet = weather.rain_mm >= row["rain_in"] * MILLIMETRES_PER_INCH
    wet_lately = wet.copy()
    for back in range(1, FRONT_D):
        wet_lately[back:] |= wet[:-back]
    met = wet_lately & (weather.air_min_c <= celsius(row["value"]))
    known = np.isfinite(weather.rain_mm) & np.isfinite(weather.air_min_c)
    return _sights(evidence.known, met, known, (first, latest))


def degree_day_sum(row: Row, evidence: Evidence, first: date, latest: date) -> Sights:
    """See the sum of degree-days since `first` reach a threshold; the sum stops at a gap."""
    weather = evidence.known.weather
    scale = 1.0 if row["unit"] == "F-days" else 1.0 / 1.8
    each = degree_days(
        weather.air_min_c * 1.8 + 32.0, weather.air_max_c * 1.8 + 32.0, base=row["base_f"]
    )
    total = np.full(len(each), np.nan)
    start = weather.position(first)
    if start >= 0:
        total[start:] = np.cumsum(each[start:]) * scale
    with np.errstate(invalid="ignore"):
        met = total >= row["value"]
    return _sights(evidence.known, met, np.isfinite(total), (first, latest))


def after_visit(row: Row, evidence: Evidence, first: date, latest: date) -> Sights:
    """See the day that lies some days after the task it follows was done this season."""
    wait = timedelta(days=int(row["value"]))
    found = _nothing(evidence)
    for done in evidence.visits.get(row["after_task"], ()):
        # A visit half a year off belongs to another season.
        if first - timedelta(days=90) <= done + wait <= latest + wait:
            by_then = evidence.known.days >= done.toordinal()
            found.seen[by_then] = np.maximum(found.seen[by_then], (done + wait).toordinal())
    return found


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


def _nothing(evidence: Evidence) -> Sights:
    count = len(evidence.known.days)
    return Sights(np.zeros(count, dtype=np.int64), np.zeros(count, dtype=np.int64))


def _sights(
    known: KnownWeather,
    met: Flags,
    judged: Flags,
    span: tuple[date, date],
    estimated: bool = False,
) -> Sights:
    weather = known.weather
    start = max(weather.position(span[0]), 0)
    stop = max(min(weather.position(span[1]) + 1, weather.days), start)
    offset = weather.first_day.toordinal()
    # Positions from one on, so that 0 is none; the last of them by each day asked about.
    places = np.arange(start + 1, stop + 1)
    seen_in = np.where(met[start:stop], places, NEVER)
    first_seen = next(iter(seen_in[seen_in > NEVER]), NEVER)
    searched: npt.NDArray[np.int64] = np.maximum.accumulate(
        np.concatenate([[NEVER], np.where(judged[start:stop], places, NEVER)])
    )
    last = searched[np.clip(known.known_to - start + 1, 0, len(searched) - 1)]
    has_seen = (first_seen > NEVER) & (known.known_to + 1 >= first_seen)
    return Sights(
        np.where(has_seen, offset + first_seen - 1, NEVER),
        np.where(last > NEVER, offset + last - 1, NEVER),
        estimated,
        weather.forecast_from,
        weather.is_typical,
    )


def _calendar_day(row: Row, year: int) -> date:
    """Return the day by the calendar; what closes on 28 February closes with the month."""
    on = on_month_day(year, row["on"])
    ends_february = row["edge"] == "closes" and (on.month, on.day) == (2, 28)
    return date(year, 3, 1) - timedelta(days=1) if ends_february else on


def _day(ordinal: int) -> date | None:
    return date.fromordinal(int(ordinal)) if ordinal > NEVER else None


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
