"""Hours to spray in: every reason against one, and that nothing unknown is one."""

from datetime import date, datetime, timedelta
from typing import Any

import pytest

from turfmap.foundations.units import METRES_PER_SECOND_PER_MPH
from turfmap.season.spray_hours import (
    SprayHours,
    hours_of,
    spray_hours,
    spray_limits,
)
from turfmap.season.weather import Site

GEORGIA = Site(33.5, -84.4)
MIDNIGHT = datetime(2026, 6, 10)
FIT: dict[str, Any] = {"air_c": 24.0, "rain_mm": 0.0, "wind_m_per_s": 6 * METRES_PER_SECOND_PER_MPH}


def found(changed: dict[int, dict[str, Any]] | None = None, hours: int = 48) -> SprayHours:
    """Return the judgement of good hours, of which some are changed."""
    rows = [
        {"time": MIDNIGHT + timedelta(hours=number), **FIT, **(changed or {}).get(number, {})}
        for number in range(hours)
    ]
    laid = hours_of(rows)
    assert laid is not None
    return spray_hours(laid, site=GEORGIA, utc_offset_h=-5.0, limits=spray_limits())


def mph(speed: float) -> dict[str, float]:
    return {"wind_m_per_s": speed * METRES_PER_SECOND_PER_MPH}


NOON = 12


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        (mph(10.5), "wind over 10 mph"),
        (mph(2.5), "calm, under 3 mph"),
        ({"gust_m_per_s": 8.0}, "gusts over 15 mph"),
        ({"rain_mm": 1.0}, "rain"),
        ({"air_c": 33.0}, "over 90 F"),
        ({"air_c": 5.0}, "under 45 F"),
        ({"air_c": None}, "not known"),
        ({"rain_mm": None}, "not known"),
        ({"wind_m_per_s": None}, "not known"),
    ],
)
def test_what_speaks_against_an_hour(change: dict[str, Any], reason: str) -> None:
    assert found().is_fit[NOON]
    judged = found({NOON: change})
    assert not judged.is_fit[NOON]
    assert any(reason in line for line in judged.reasons(NOON))


def test_rain_or_what_is_not_known_of_it_forbids_the_hours_before() -> None:
    for rain in (2.0, None):
        judged = found({NOON: {"rain_mm": rain}})
        unfit = [number for number in range(6, 18) if not judged.is_fit[number]]
        assert unfit == [8, 9, 10, 11, NOON]


def test_the_last_hours_of_a_forecast_are_not_fit_as_rain_may_follow() -> None:
    assert found(hours=24).is_fit[16:].tolist() == [True] * 4 + [False] * 4


def test_light_wind_is_let_pass_at_noon_and_not_near_sunrise_sunset_or_at_night() -> None:
    """Sun at 33.5 N, 84.4 W on 10 June from about 5:27 to 19:47 standard time (memory).

    Fit are whole hours from three hours after sunrise to two before sunset, one of them for clocks.
    """
    judged = found({number: mph(4.0) for number in range(48)})
    assert [number for number in range(24) if judged.is_fit[number]] == list(range(9, 17))
    assert "air may lie in layers" in judged.reasons(6)[0]
    assert found().is_fit[6]  # 6 mph mixes the air


def test_days_are_counted_with_their_reasons() -> None:
    judged = found({number: mph(12.0) for number in range(10, 16)})
    assert judged.by_day() == {date(2026, 6, 10): 18, date(2026, 6, 11): 20}
    assert judged.day_reasons(date(2026, 6, 10)) == ["6 h: wind over 10 mph"]


def test_a_missing_hour_is_not_known_and_no_hours_are_nothing() -> None:
    rows = [{"time": MIDNIGHT + timedelta(hours=hour), **FIT} for hour in range(24) if hour != NOON]
    laid = hours_of(rows)
    assert laid is not None
    judged = spray_hours(laid, site=GEORGIA, utc_offset_h=-5.0, limits=spray_limits())
    assert not judged.is_fit[NOON]
    assert hours_of([]) is None


def test_the_label_in_hand_replaces_a_limit() -> None:
    rows = [{"time": MIDNIGHT + timedelta(hours=hour), **FIT, **mph(12.0)} for hour in range(24)]
    laid = hours_of(rows)
    assert laid is not None
    label = spray_limits({"wind_most": 15.0})
    judged = spray_hours(laid, site=GEORGIA, utc_offset_h=-5.0, limits=label)
    assert judged.is_fit[NOON]
