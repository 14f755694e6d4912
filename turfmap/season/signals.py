"""Signals of the season: means, runs of days, degree-days, soil temperature from air.

Every function takes arrays of daily values and returns an array of the same shape, or a position
in it. A gap (NaN) never counts as a day that met a threshold.

References
----------
Degree-days: mean of the day's extremes less the base, never below zero, as in the Purdue
University explanation of growing degree days (source T25 of ``layers/tables/source.csv``).
"""

import numpy as np
import numpy.typing as npt

from turfmap.season.weather import Floats, Weather

# Days of air temperature that the soil remembers, in the estimate from air.
SOIL_MEMORY_D = {"soil_2in": 5, "soil_4in": 7}


def daily_mean(air_min: Floats, air_max: Floats) -> Floats:
    """Return the mean of the day's extremes, in their unit."""
    return (air_min + air_max) / 2.0


def degree_days(air_min: Floats, air_max: Floats, *, base: float) -> Floats:
    """Return the degree-days of each day; a day below the base adds none.

    Parameters
    ----------
    air_min, air_max
        The day's extremes, in one unit (degC or degF).
    base
        The base temperature, in the same unit.
    """
    return np.maximum(daily_mean(air_min, air_max) - base, 0.0)


def trailing_mean(values: Floats, days: int) -> Floats:
    """Return the mean of each day and those before it, `days` in all; NaN until there are so many.

    A gap makes NaN of every mean that it falls in.
    """
    means = np.full(len(values), np.nan)
    if len(values) >= days:
        windows = np.lib.stride_tricks.sliding_window_view(values, days)
        means[days - 1 :] = windows.mean(axis=1)
    return means


def run_ends(met: npt.NDArray[np.bool_], days: int) -> npt.NDArray[np.bool_]:
    """Return the days that end a run of at least `days` days which all met something."""
    ends = np.zeros(len(met), dtype=np.bool_)
    if len(met) >= days:
        ends[days - 1 :] = np.lib.stride_tricks.sliding_window_view(met, days).all(axis=1)
    return ends


def soil_from_air(air_mean: Floats, *, sensor: str) -> Floats:
    """Estimate the daily mean soil temperature under open turf from the air's.

    The trailing mean of the air temperature: `SOIL_MEMORY_D` days of it. An estimate, which may
    be a fortnight out in the date on which a threshold is passed; always labelled as such.

    Parameters
    ----------
    air_mean
        Daily mean air temperature [degC].
    sensor
        ``soil_2in`` or ``soil_4in``.
    """
    return trailing_mean(air_mean, SOIL_MEMORY_D[sensor])


def sensed(weather: Weather, sensor: str) -> tuple[Floats, bool]:
    """Return the series of a sensor and whether it is an estimate.

    Parameters
    ----------
    weather
        Daily columns.
    sensor
        One of air_min, air_mean, soil_2in, soil_4in.

    Returns
    -------
    values : numpy.ndarray
        Temperature [degC], shape (days,).
    estimated : bool
        True where soil temperature was not measured and is estimated from the air.
    """
    if sensor == "air_min":
        return weather.air_min_c, False
    air_mean = daily_mean(weather.air_min_c, weather.air_max_c)
    if sensor == "air_mean":
        return air_mean, False
    measured = {"soil_2in": weather.soil_2in_c, "soil_4in": weather.soil_4in_c}[sensor]
    if np.isfinite(measured).any():
        return measured, False
    return soil_from_air(air_mean, sensor=sensor), True
