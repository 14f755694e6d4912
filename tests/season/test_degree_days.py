"""Degree-day sums: cooling, gaps, and records that begin too late."""

from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from turfmap.foundations.definitions import table
from turfmap.season.degree_days import accumulated, each_day, first_reached
from turfmap.season.weather import Weather, weather_until

MODELS = table("degree_day").by("model")
FIRST = date(2026, 8, 1)


def cooling(days: int, **changed: Any) -> Weather:
    """Return days whose mean falls by 1 F a day, from 80 F."""
    rows: list[dict[str, Any]] = [
        {
            "date": FIRST + timedelta(days=number),
            "air_min_c": (80 - number - 10 - 32) / 1.8,
            "air_max_c": (80 - number + 10 - 32) / 1.8,
        }
        for number in range(days)
    ]
    return weather_until([row | changed.get(str(row["date"]), {}) for row in rows], as_of=date.max)


def test_degrees_below_a_base_are_counted_where_the_model_says_below() -> None:
    weather = cooling(25)
    total = accumulated(weather, MODELS["dallisgrass_autumn"], year=2026)
    assert np.isnan(total[:14]).all()  # before 15 August
    assert total[14] == pytest.approx(6.0)  # 66 F
    assert total[15] == pytest.approx(13.0)
    assert first_reached(weather, MODELS["dallisgrass_autumn"], year=2026) == date(2026, 8, 16)


def test_no_day_takes_any_away() -> None:
    for model in MODELS.values():
        assert (each_day(np.array([-40.0, 0.0, 20.0, 45.0]), model) >= 0.0).all()


def test_a_sum_ends_at_a_gap() -> None:
    gap = {"2026-08-20": {"air_min_c": None}}
    total = accumulated(cooling(25, **gap), MODELS["dallisgrass_autumn"], year=2026)
    assert np.isfinite(total[18])
    assert np.isnan(total[19:]).all()


def test_a_record_that_begins_after_the_start_has_no_sum() -> None:
    total = accumulated(cooling(25), MODELS["dallisgrass_spring"], year=2026)
    assert np.isnan(total).all()
    assert first_reached(cooling(25), MODELS["dallisgrass_spring"], year=2026) is None
