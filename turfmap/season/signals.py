"""Signals of the season: means, runs of days, degree-days, and what a sensor shows.

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

from turfmap.foundations.definitions import table
from turfmap.season.soil_temperature import soil_from_air
from turfmap.season.weather import Floats, Weather

Marks = npt.NDArray[np.bool_]


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


def past(values: Floats, threshold: float, *, falling: bool) -> Marks:
    """Return the days at or past a threshold; a gap is not."""
    return values <= threshold if falling else values >= threshold


def run_ends(met: Marks, days: int) -> Marks:
    """Return the days that end a run of at least `days` days which all met something.

    Parameters
    ----------
    met
        Shape (days,) or (days, cells).
    """
    ends = np.zeros(met.shape, dtype=np.bool_)
    if len(met) >= days:
        windows = np.lib.stride_tricks.sliding_window_view(met, days, axis=0)
        ends[days - 1 :] = windows.all(axis=-1)
    return ends


def run_end_range(
    values: Floats, *, threshold: float, days: int, falling: bool, error: float
) -> tuple[Marks, Marks]:
    """Return the ends of runs, of a series known to within an error, at the soonest and latest.

    Parameters
    ----------
    values
        Shape (days,) or (days, cells).
    threshold, error
        In the unit of `values`.
    days
        Days in a row [d].

    Returns
    -------
    soonest, latest : numpy.ndarray
        The days that end a run if every value were off by `error` towards the threshold, and away
        from it.
    """
    easier = threshold + error if falling else threshold - error
    harder = 2.0 * threshold - easier
    soonest = run_ends(past(values, easier, falling=falling), days)
    latest = run_ends(past(values, harder, falling=falling), days)
    return soonest, latest


@lru_cache(maxsize=64)
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
        Whether soil temperature was not measured from the first day on, and is estimated from the
        air before. Days of a forecast are estimated in any case.
    """
    if sensor == "air_min":
        return weather.air_min_c, False
    air_mean_c = daily_mean(weather.air_min_c, weather.air_max_c)
    if sensor == "air_mean":
        return air_mean_c, False
    measured = {"soil_2in": weather.soil_2in_c, "soil_4in": weather.soil_4in_c}[sensor]
    estimate = soil_from_air(air_mean_c, table("soil_estimate").by("sensor")[sensor])
    # Before the first measured day there is the estimate, so that each day is judged by what was
    # known on it; after it a gap stays one, but nobody forecasts soil.
    before = np.cumsum(np.isfinite(measured)) == 0
    use_estimate = before | (np.isnan(measured) & weather.is_forecast)
    return np.where(use_estimate, estimate, measured), bool(before.any())


def sensor_error_c(sensor: str) -> float:
    """Return the error of the estimate of a soil sensor [degC], from the table soil_estimate."""
    return float(table("soil_estimate").by("sensor")[sensor]["error_c"])
