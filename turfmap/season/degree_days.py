"""Degree-day models: base, unit, sensor and start always travel with the threshold.

A model is a row of the table ``degree_day``. The same threshold on another base, in another unit,
from another sensor or another day means nothing, so none of them can be given alone.
"""

from collections.abc import Mapping
from datetime import date
from typing import Any

import numpy as np

from turfmap.foundations.dates import day_words, on_month_day
from turfmap.season.signals import sensed
from turfmap.season.weather import Floats, Weather

Model = Mapping[str, Any]

F_DAYS, C_DAYS = "F-days", "C-days"
ABOVE, BELOW = "above", "below"
# What a model names and what a station has nearest to it.
_SENSORS = {"air_mean": "air_mean", "soil_1in": "soil_2in"}


def each_day(mean_c: Floats, model: Model) -> Floats:
    """Return the degree-days of each day, in the unit of the model; none are ever taken away.

    Parameters
    ----------
    mean_c
        Daily mean temperature at the model's sensor [degC].
    model
        A row of the table degree_day.
    """
    mean = mean_c * 1.8 + 32.0 if model["unit"] == F_DAYS else mean_c
    over = mean - model["base"]
    days: Floats = np.maximum(over if model["counts"] == ABOVE else -over, 0.0)
    return days


def accumulated(weather: Weather, model: Model, *, year: int) -> Floats:
    """Return the sum of a model's degree-days from its start in a year, shape (days,).

    NaN before the start, from the first gap on, and all through if the record begins after the
    start: a sum that lacks days is too small, and looks like one that has time left.
    """
    mean_c, _ = sensed(weather, _SENSORS[model["sensor"]])
    start = weather.position(on_month_day(year, model["starts"]))
    total = np.full(weather.days, np.nan)
    if start >= 0:
        total[start:] = np.cumsum(each_day(mean_c[start:], model))
    return total


def first_reached(weather: Weather, model: Model, *, year: int) -> date | None:
    """Return the day on which the sum reaches the model's lower threshold; None if not seen."""
    hits = np.flatnonzero(accumulated(weather, model, year=year) >= model["from_sum"])
    return weather.day(hits[0]) if len(hits) else None


def model_words(model: Model, *, year: int) -> str:
    """Return all that a threshold needs beside it, in words."""
    degree = model["unit"][0]
    to = f" to {model['to_sum']:g}" if model["to_sum"] is not None else ""
    sensor = {"air_mean": "mean air", "soil_1in": "soil at 1 in (2 in taken)"}[model["sensor"]]
    start = day_words(on_month_day(year, model["starts"]))
    return (
        f"{model['from_sum']:g}{to} {model['unit']} {model['counts']} {model['base']:g} {degree},"
        f" {sensor}, counted from {start}"
    )
