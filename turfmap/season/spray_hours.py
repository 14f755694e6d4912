"""Hours in which spraying from the ground may be thought of, and what speaks against the others.

An hour of which anything that matters is not known is never an hour to spray in. The limits are in
the table ``spray_weather``; the label's own figures replace them.

References
----------
Sunrise and sunset by FAO Irrigation and Drainage Paper 56 (1998), eq. 25 (hour angle) and eq. 31 to
33 (solar time from clock time and longitude).
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np
import numpy.typing as npt

from turfmap.foundations.definitions import table
from turfmap.foundations.units import METRES_PER_SECOND_PER_MPH, MILLIMETRES_PER_INCH, celsius
from turfmap.season.radiation import sunset_angle
from turfmap.season.weather import Floats, Site

# A clock in summer time is an hour ahead of the sun's: the caution covers both.
CLOCK_SHIFT_H = 1.0
COLUMNS = ("air_c", "rain_mm", "wind_m_per_s", "gust_m_per_s")
Marks = npt.NDArray[np.bool_]

# What may speak against an hour, in the order in which it is told.
REASONS = {
    "not_known": "wind, rain or temperature is not known",
    "raining": "rain",
    "rain_soon": "rain within {rain_free:g} h, or not known that long ahead",
    "windy": "wind over {wind_most:g} mph",
    "gusty": "gusts over {gust_most:g} mph",
    "calm": "calm, under {wind_least:g} mph: air may lie in layers",
    "layered": "near sunrise, near sunset or at night with under {mixing_least:g} mph:"
    " air may lie in layers",
    "cold": "under {air_least:g} F",
    "hot": "over {air_most:g} F",
}


@dataclass(frozen=True, eq=False)
class Hours:
    """Hourly weather from `first` on, without a break; a gap is NaN.

    Attributes
    ----------
    first
        Start of the first hour, by the clock of the place.
    air_c, rain_mm, wind_m_per_s, gust_m_per_s
        Temperature [degC], rain [mm], mean wind and gusts [m s-1], shape (hours,).
    """

    first: datetime
    air_c: Floats
    rain_mm: Floats
    wind_m_per_s: Floats
    gust_m_per_s: Floats

    @property
    def hours(self) -> int:
        """How many hours the columns cover."""
        return len(self.air_c)

    def time(self, position: int) -> datetime:
        """Return the start of the hour at a position of the columns."""
        return self.first + timedelta(hours=int(position))


@dataclass(frozen=True, eq=False)
class SprayHours:
    """Which hours bear spraying, and what speaks against each.

    Attributes
    ----------
    is_fit
        Shape (hours,).
    against
        By the names of `REASONS`, the hours that each speaks against, shape (hours,).
    limits
        The limits used, in the units of the table spray_weather.
    """

    hours: Hours
    is_fit: Marks
    against: Mapping[str, Marks]
    limits: Mapping[str, float]

    def reasons(self, position: int) -> list[str]:
        """Return what speaks against an hour, in words; nothing if it is fit."""
        return [
            words.format(**self.limits)
            for name, words in REASONS.items()
            if self.against[name][position]
        ]

    def by_day(self) -> dict[date, int]:
        """Return the number of fit hours of each day that the hours touch."""
        found: dict[date, int] = {}
        for position in range(self.hours.hours):
            day = self.hours.time(position).date()
            found[day] = found.get(day, 0) + int(self.is_fit[position])
        return found

    def day_reasons(self, day: date) -> list[str]:
        """Return what speaks against hours of a day, with how many, the most frequent first."""
        here = [p for p in range(self.hours.hours) if self.hours.time(p).date() == day]
        counts = {name: int(marks[here].sum()) for name, marks in self.against.items()}
        ranked = sorted(counts.items(), key=lambda item: -item[1])
        return [
            f"{count} h: {REASONS[name].format(**self.limits)}" for name, count in ranked if count
        ]


def hours_of(rows: Iterable[Mapping[str, Any]]) -> Hours | None:
    """Lay hourly rows on an unbroken row of hours; None if there are none.

    Parameters
    ----------
    rows
        One mapping an hour: ``time`` and any of `COLUMNS`; None where not known.
    """
    by_hour = {row["time"].replace(minute=0, second=0, microsecond=0): row for row in rows}
    if not by_hour:
        return None
    first = min(by_hour)
    count = int((max(by_hour) - first) / timedelta(hours=1)) + 1
    columns = {name: np.full(count, np.nan) for name in COLUMNS}
    for time, row in by_hour.items():
        for name, column in columns.items():
            if row.get(name) is not None:
                column[int((time - first) / timedelta(hours=1))] = row[name]
    return Hours(first, **columns)


def spray_limits(own: Mapping[str, float] | None = None) -> dict[str, float]:
    """Return the limits of the table spray_weather, with the label's own in their place."""
    shipped = {row["limit"]: float(row["value"]) for row in table("spray_weather").rows}
    return shipped | dict(own or {})


def spray_hours(
    hours: Hours, *, site: Site, utc_offset_h: float, limits: Mapping[str, float]
) -> SprayHours:
    """Return which hours bear spraying.

    Gusts that nobody measured or forecast are let pass: most forecasts lack them.

    Parameters
    ----------
    site
        Where it is, for sunrise and sunset.
    utc_offset_h
        How far the clock of the hours is ahead of UTC [h]; negative in America.
    limits
        From `spray_limits`.
    """
    wind_mph = hours.wind_m_per_s / METRES_PER_SECOND_PER_MPH
    air_most_c, air_least_c = celsius(limits["air_most"]), celsius(limits["air_least"])
    raining: Marks = hours.rain_mm >= limits["rain_least"] * MILLIMETRES_PER_INCH
    known = np.isfinite(hours.air_c) & np.isfinite(hours.rain_mm) & np.isfinite(wind_mph)
    lull = _sun_is_low(hours, site, utc_offset_h, limits)
    against = {
        "not_known": ~known,
        "raining": raining,
        "rain_soon": _within(raining | np.isnan(hours.rain_mm), round(limits["rain_free"])),
        "windy": wind_mph > limits["wind_most"],
        "gusty": hours.gust_m_per_s > limits["gust_most"] * METRES_PER_SECOND_PER_MPH,
        "calm": wind_mph < limits["wind_least"],
        "layered": lull & (wind_mph < limits["mixing_least"]),
        "cold": hours.air_c < air_least_c,
        "hot": hours.air_c > air_most_c,
    }
    return SprayHours(hours, ~np.any(list(against.values()), axis=0), against, limits)


def _within(met: Marks, hours: int) -> Marks:
    """Return the hours after which something is met within some hours; beyond the end it may be."""
    ahead = np.concatenate([met[1:], np.ones(hours, dtype=np.bool_)])
    within = np.zeros(len(met), dtype=np.bool_)
    for later in range(hours):
        within |= ahead[later : later + len(met)]
    return within


def _sun_is_low(
    hours: Hours, site: Site, utc_offset_h: float, limits: Mapping[str, float]
) -> Marks:
    """Return the hours of which any part lies at night or near it: air may lie in layers."""
    start = np.datetime64(hours.first, "h") + np.arange(hours.hours)
    day = (start.astype("datetime64[D]") - start.astype("datetime64[Y]")).astype(float) + 1.0
    clock_h = (start - start.astype("datetime64[D]")).astype(float)
    turn = 2.0 * np.pi * (day - 81.0) / 364.0  # eq. 33
    equation_h = (
        0.1645 * np.sin(2.0 * turn) - 0.1255 * np.cos(turn) - 0.025 * np.sin(turn)
    )  # eq. 32
    solar_h = clock_h - utc_offset_h + site.longitude / 15.0 + equation_h
    from_noon_h = (solar_h % 24.0) - 12.0
    half_day_h = sunset_angle(np.asarray(site.latitude), day) * 12.0 / np.pi
    morning = from_noon_h < -half_day_h + limits["after_sunrise"] + CLOCK_SHIFT_H
    evening = from_noon_h + 1.0 > half_day_h - limits["before_sunset"] - CLOCK_SHIFT_H
    low: Marks = morning | evening
    return low
