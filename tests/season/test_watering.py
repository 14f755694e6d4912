"""Watering before winter: by the root zone's account where it can be kept, by rain where not."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np

from tests.season.lawns import LATITUDE, bermuda, columns, warm_climate
from turfmap.season.due import due
from turfmap.season.weather import Site, Weather, weather_until

NOVEMBER = date(2026, 11, 12)
SITE = Site(LATITUDE, -83.0, 100.0)


def watering(weather: Weather, **facts: Any) -> dict[str, Any]:
    found = due(
        columns([bermuda(irrigated=False, soil="clay_loam") | facts]),
        answers=[],
        visits=[],
        weather=weather,
        as_of=NOVEMBER,
    )
    tasks = {task["task"]: task for task in found["zones"][0]["tasks"]}
    task: dict[str, Any] = tasks["watering_before_winter"]
    return task


def record(*, dry_days: int, forecast: Sequence[Mapping[str, Any]] = ()) -> Weather:
    """Return a wet summer and autumn that ends in days without rain."""
    rows = warm_climate(date(2026, 3, 1), NOVEMBER, rain_mm=6.0)
    dry = NOVEMBER - timedelta(days=dry_days)
    rows = [row | {"rain_mm": 0.0} if row["date"] > dry else row for row in rows]
    return weather_until(rows, as_of=NOVEMBER, site=SITE, forecast=forecast)


def test_a_root_zone_that_has_enough_is_not_watered_though_little_rain_fell() -> None:
    """Filled until three weeks ago, then 0.1 in a day, then nine dry days of little demand."""
    light = record(dry_days=9)
    light.rain_mm[-20:-9] = 2.4
    for known in (light, replace(light, site=None)):  # then by the lawn's own latitude
        task = watering(known)
        assert task["state"] == "held"
        assert any("account of its water" in words for words in task["holds"])
    # A bed has no account, and the rain of 14 days is under half an inch.
    assert watering(light, kind="bed", species=None, bed_type="mixed")["state"] == "due"


def test_a_root_zone_past_what_is_easily_used_is_watered_though_rain_fell_lately() -> None:
    dry = record(dry_days=60)
    rain_mm = dry.rain_mm.copy()
    rain_mm[-10] = 13.0  # half an inch, ten days ago
    wetted = replace(dry, rain_mm=rain_mm)
    assert watering(wetted, kind="bed", species=None, bed_type="mixed")["state"] == "held"
    assert watering(wetted, soil="sand")["state"] == "due"
    assert watering(wetted, soil="sand", irrigated=True)["state"] == "held"


def test_rain_that_is_forecast_is_waited_for() -> None:
    dry = record(dry_days=60)
    assert watering(dry)["state"] == "due"
    tomorrow = [
        {"date": NOVEMBER + timedelta(days=n), "air_min_c": 8.0, "air_max_c": 15.0, "rain_mm": mm}
        for n, mm in ((1, 0.0), (2, 15.0), (3, 0.0))
    ]
    task = watering(record(dry_days=60, forecast=tomorrow))
    assert task["state"] == "held"
    assert any("0.59 in are forecast" in words for words in task["holds"])


def test_where_nobody_knows_the_rain_it_asks() -> None:
    gap = record(dry_days=60)
    gap.rain_mm[-5] = np.nan
    assert watering(gap)["state"] == "ask"
