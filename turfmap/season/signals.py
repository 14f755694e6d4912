"""Signals of the season: means, runs of days, degree-days, soil temperature from air.

Every function takes arrays of daily values and returns an array of the same shape, or a position
in it. A gap (NaN) never counts as a day that met a threshold.

References
----------
Degree-days: mean of the day's extremes less the base, never below zero, as in the Purdue
University explanation of growing degree days (source T25 of ``layers/tables/source.csv``).
"""

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from turfmap.foundations.definitions import Row, table
from turfmap.season.weather import Floats, Weather


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


def trailing_mean(values: Floats, weights: Floats) -> Floats:
    """Return the weighted mean of each day and those before it.

    A gap makes NaN of every mean that it falls in, as do too few days.

    Parameters
    ----------
    values
        Daily values, shape (days,).
    weights
        The oldest day's first; they sum to 1.
    """
    means = np.full(len(values), np.nan)
    if len(values) >= len(weights):
        windows = np.lib.stride_tricks.sliding_window_view(values, len(weights))
        means[len(weights) - 1 :] = windows @ weights
    return means


def run_ends(met: npt.NDArray[np.bool_], days: int) -> npt.NDArray[np.bool_]:
    """Return the days that end a run of at least `days` days which all met something."""
    ends = np.zeros(len(met), dtype=np.bool_)
    if len(met) >= days:
        ends[days - 1 :] = np.lib.stride_tricks.sliding_window_view(met, days).all(axis=1)
    return ends


def soil_from_air(air_mean_c: Floats, estimate: Row) -> Floats:
    """Estimate the daily mean soil temperature from the air's.

    Every weight is positive, so warmer air never makes colder soil.

    Parameters
    ----------
    air_mean_c
        Daily mean air temperature [degC].
    estimate
        A row of the table soil_estimate.
    """
    days_ago = np.arange(estimate["days"])[::-1]
    weights = (1.0 - estimate["share_per_day"]) ** days_ago
    return trailing_mean(air_mean_c, weights / weights.sum()) + float(estimate["offset_c"])


@lru_cache(maxsize=16)
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
    air_mean_c = daily_mean(weather.air_min_c, weather.air_max_c)
    if sensor == "air_mean":
        return air_mean_c, False
    measured = {"soil_2in": weather.soil_2in_c, "soil_4in": weather.soil_4in_c}[sensor]
    if np.isfinite(measured).any():
        return measured, False
    return soil_from_air(air_mean_c, table("soil_estimate").by("sensor")[sensor]), True
