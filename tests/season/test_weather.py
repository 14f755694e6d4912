"""Weather as columns: record, forecast, gaps."""

from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from turfmap.season.weather import Weather, weather_until
from turfmap.season.weather_gaps import LinearFill, filled

FIRST = date(2026, 3, 1)


def rows(*lows: float | None, first: date = FIRST) -> list[dict[str, Any]]:
    return [
        {"date": first + timedelta(days=number), "air_min_c": low, "rain_mm": 1.0}
        for number, low in enumerate(lows)
        if low != -99
    ]


def test_the_record_ends_on_the_day_asked_about() -> None:
    weather = weather_until(rows(1, 2, 3, 4), as_of=date(2026, 3, 2))
    assert weather.air_min_c.tolist() == [1.0, 2.0]
    assert weather.last_recorded_day == date(2026, 3, 2)
    assert not weather.is_forecast.any()


def test_a_forecast_follows_the_record_and_is_marked() -> None:
    """What was measured wins over what was forecast for the same day."""
    ahead = rows(20, 21, 22, 23, first=date(2026, 3, 2))
    weather = weather_until(rows(1, 2, 3, 4), as_of=date(2026, 3, 3), forecast=ahead)
    assert weather.air_min_c.tolist() == [1.0, 2.0, 3.0, 22.0, 23.0]
    assert weather.forecast_from == date(2026, 3, 4)
    assert weather.is_forecast.tolist() == [False] * 3 + [True] * 2
    assert weather.last_recorded_day == date(2026, 3, 3)
    assert weather.last_day == date(2026, 3, 5)


def test_days_between_record_and_forecast_are_a_gap() -> None:
    ahead = rows(9, first=date(2026, 3, 4))
    weather = weather_until(rows(1, 2), as_of=date(2026, 3, 2), forecast=ahead)
    assert weather.air_min_c == pytest.approx([1.0, 2.0, np.nan, 9.0], nan_ok=True)
    assert weather.is_forecast.tolist() == [False, False, False, True]


def test_a_forecast_alone_is_weather_without_a_record() -> None:
    weather = weather_until([], as_of=FIRST, forecast=rows(5, 6))
    assert weather.last_recorded_day is None
    assert weather.is_forecast.all()


def test_order_is_irrelevant() -> None:
    one, other = (
        weather_until(found, as_of=date.max) for found in (rows(1, 2, 3), rows(1, 2, 3)[::-1])
    )
    assert (one.air_min_c == other.air_min_c).all()


def test_days_are_numbered_through_leap_years() -> None:
    weather = weather_until(rows(*range(5), first=date(2028, 2, 28)), as_of=date.max)
    assert weather.day_of_year.tolist() == [59, 60, 61, 62, 63]
    end = weather_until(rows(1, 2, first=date(2026, 12, 31)), as_of=date.max)
    assert end.day_of_year.tolist() == [365, 1]


def gappy() -> Weather:
    return weather_until(rows(-99, 2, None, 4, None, None, None, 12, None), as_of=date.max)


def test_gaps_stay_unless_a_method_is_named() -> None:
    assert np.isnan(gappy().air_min_c).sum() == 5


def test_short_gaps_are_filled_by_straight_lines_and_told_and_longer_ones_stay() -> None:
    found, notes = filled(gappy(), LinearFill(2))
    assert found.air_min_c == pytest.approx(
        [2, 3, 4, np.nan, np.nan, np.nan, 12, np.nan], nan_ok=True
    )
    (note,) = notes
    assert "straight lines over gaps of at most 2 days" in note
    assert "1 of air_min_c" in note
    found, _ = filled(gappy(), LinearFill(3))
    assert found.air_min_c == pytest.approx([2, 3, 4, 6, 8, 10, 12, np.nan], nan_ok=True)


def test_rain_is_never_filled() -> None:
    days = rows(1, 2, 3)
    days[1]["rain_mm"] = None
    found, notes = filled(weather_until(days, as_of=date.max), LinearFill(5))
    assert np.isnan(found.rain_mm[1])
    assert notes == []


def test_a_column_that_the_record_lacks_is_all_gaps() -> None:
    weather = weather_until(rows(1, 2), as_of=date.max)
    assert np.isnan(weather.column("wind_m_per_s")).all()
    assert weather.column("air_min_c").tolist() == [1.0, 2.0]
