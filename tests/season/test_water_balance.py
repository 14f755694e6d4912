"""The account of a lawn: what the tables make of it."""

from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from turfmap.foundations.definitions import table
from turfmap.season.water_balance import crop_coefficients, lawn_water, turf_root_zones
from turfmap.season.weather import Weather, weather_until

FIRST = date(2026, 7, 1)


def days(count: int, rain_mm: float | None = 0.0, first: date = FIRST) -> Weather:
    rows: list[dict[str, Any]] = [
        {"date": first + timedelta(days=number), "rain_mm": rain_mm} for number in range(count)
    ]
    return weather_until(rows, as_of=date.max)


def test_roots_in_loam_hold_what_the_tables_say() -> None:
    """1.5 in per ft, half a foot: 0.75 in, of which half (p = 0.5) is used easily: 0.375 in.

    At the most 2.3 in per ft and 8 in: 1.533 in.
    """
    lean, rich = turf_root_zones("loam", "warm")
    assert lean.total_mm == pytest.approx(0.75 * 25.4)
    assert lean.easy_mm == pytest.approx(0.375 * 25.4)
    assert rich.total_mm == pytest.approx(2.3 * 8 / 12 * 25.4)


def test_a_soil_that_nobody_knows_may_be_any() -> None:
    every = [turf_root_zones(row["soil"], "warm") for row in table("soil").rows]
    lean, rich = turf_root_zones(None, "warm")
    assert float(lean.total_mm) == min(float(one.total_mm) for one, _ in every)
    assert float(rich.total_mm) == max(float(one.total_mm) for _, one in every)


def test_each_day_has_the_coefficient_of_its_month() -> None:
    found = crop_coefficients(days(3, first=date(2026, 3, 30)), "cool")
    assert found.tolist() == [0.75, 0.75, 1.04]


def test_a_lawn_dries_down_and_rain_or_water_brings_it_back() -> None:
    weather = days(30)
    et = np.full(30, 6.0)
    how: dict[str, Any] = {"turf_season": "warm", "soil": "loam"}
    dry = lawn_water(weather, et, **how)
    assert dry.is_stressed[-1]
    assert not dry.is_stressed[0]
    unknown = lawn_water(weather, et, turf_season="warm", soil=None)
    first = [int(np.argmax(one)) for one in (dry.is_stressed, unknown.is_stressed)]
    assert first[0] <= first[1]
    water = np.zeros(30)
    water[28] = 30.0
    watered = lawn_water(weather, et, irrigation_mm=water, **how)
    assert not watered.may_be_stressed[29]


def test_drizzle_every_day_does_not_save_a_lawn() -> None:
    """A millimetre a day is less than a fifth of ETo of 6 mm: it never reaches roots."""
    how: dict[str, Any] = {"turf_season": "warm", "soil": "loam"}
    drizzle = lawn_water(days(30, 1.0), np.full(30, 6.0), **how)
    dry = lawn_water(days(30, 0.0), np.full(30, 6.0), **how)
    assert (drizzle.lean.driest_mm == dry.lean.driest_mm).all()


def test_without_rain_figures_a_lawn_may_be_anything() -> None:
    found = lawn_water(days(30, None), np.full(30, 6.0), turf_season="warm", soil="loam")
    assert found.may_be_stressed.all()
    assert not found.is_stressed.any()
