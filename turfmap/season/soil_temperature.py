"""Soil temperature: estimated from the air day by day, and as the published yearly wave.

The daily estimate is a lag with damping: today's soil is a mean of the air of the last days, the
older the lighter, plus a fixed warmth. It is what the step ``T[j] = T[j-1] + s (A[j] - T[j-1])``
of published models comes to when it is followed through its days; the figures are in the table
``soil_estimate`` with their error. Against the same stations the published form that takes the
mean of 11 days and a straight line is off by 2.1 degC (2 in) and 1.8 degC (4 in), ours by 1.6 and
1.5. Every weight is positive, so warmer air never makes colder soil.

References
----------
.. [1] D. Zheng, E. R. Hunt, S. W. Running (1993), "A daily soil temperature model based on air
   temperature and precipitation for continental applications", Climate Research 2, 183-191: an
   11-day running mean of air and a regression, standard errors of 1.5 to 2.9 degC (abstract read).
.. [2] D. Hillel (1982), Introduction to Soil Physics, as given in the Oklahoma State University
   soil physics toolkit: the sinusoidal wave and its damping depth.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from turfmap.season.weather import Floats

DAYS_A_YEAR = 365.0
SECONDS_A_DAY = 86_400.0


def trailing_mean(values: Floats, weights: Floats) -> Floats:
    """Return the weighted mean of each day and those before it.

    A gap makes NaN of every mean that it falls in, as do too few days.

    Parameters
    ----------
    values
        Daily values, shape (days,) or (days, cells).
    weights
        The oldest day's first; they sum to 1.
    """
    means = np.full(values.shape, np.nan)
    if len(values) >= len(weights):
        windows = np.lib.stride_tricks.sliding_window_view(values, len(weights), axis=0)
        means[len(weights) - 1 :] = windows @ weights
    return means


def soil_from_air(air_mean_c: Floats, estimate: Mapping[str, Any]) -> Floats:
    """Estimate the daily mean soil temperature from the air's.

    Parameters
    ----------
    air_mean_c
        Daily mean air temperature [degC], shape (days,) or (days, cells).
    estimate
        A row of the table soil_estimate.
    """
    days_ago = np.arange(estimate["days"])[::-1]
    weights = (1.0 - estimate["share_per_day"]) ** days_ago
    return trailing_mean(air_mean_c, weights / weights.sum()) + float(estimate["offset_c"])


@dataclass(frozen=True)
class YearlyWave:
    """The yearly course of temperature at the ground, as one wave.

    Attributes
    ----------
    mean_c
        Of the year [degC].
    amplitude_c
        From the mean to the warmest [degC].
    coldest_day
        Number of the day in the year on which it is coldest at the surface [d].
    """

    mean_c: float
    amplitude_c: float
    coldest_day: float

    def at(self, day_of_year: Floats, *, depth_m: float, damping_depth_m: float) -> Floats:
        """Return the temperature at a depth [degC]: lower and later the deeper, see [2]_."""
        depths = depth_m / damping_depth_m
        phase = 2.0 * np.pi * (day_of_year - self.coldest_day) / DAYS_A_YEAR
        swing = self.amplitude_c * np.exp(-depths)
        found: Floats = self.mean_c + swing * np.sin(phase - depths - np.pi / 2.0)
        return found


def damping_depth_m(diffusivity_m2_per_s: float) -> float:
    """Return the depth at which the yearly wave is 1/e of that at the surface [m], see [2]_."""
    turns_per_s = 2.0 * np.pi / (DAYS_A_YEAR * SECONDS_A_DAY)
    return float(np.sqrt(2.0 * diffusivity_m2_per_s / turns_per_s))


def yearly_wave(air_mean_c: Floats, day_of_year: Floats) -> YearlyWave | None:
    """Return the wave that fits a record of daily means best; None without a whole year.

    Parameters
    ----------
    air_mean_c
        Daily means [degC], shape (days,); gaps are NaN.
    day_of_year
        The number of each day in its year, shape (days,).
    """
    known = np.isfinite(air_mean_c)
    if known.sum() < DAYS_A_YEAR:
        return None
    turn = 2.0 * np.pi * day_of_year[known] / DAYS_A_YEAR
    terms = np.column_stack([np.ones(len(turn)), np.cos(turn), np.sin(turn)])
    (mean, cosine, sine), *_ = np.linalg.lstsq(terms, air_mean_c[known])
    # Coldest where cosine * cos + sine * sin is least: half a turn from its crest.
    coldest = (np.arctan2(sine, cosine) / (2.0 * np.pi) + 0.5) * DAYS_A_YEAR
    return YearlyWave(float(mean), float(np.hypot(cosine, sine)), float(coldest % DAYS_A_YEAR))
