"""Edges of windows: what each basis sees, and where the edge goes if it sees nothing."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from tests.season.lawns import warm_climate
from turfmap.season.edges import Edge, Evidence, edges
from turfmap.season.known_weather import KnownWeather
from turfmap.season.weather import Weather, weather_until

FIRST = date(2026, 9, 1)
LAST = date(2026, 12, 1)
COLD_RUN: dict[str, Any] = {
    "edge": "opens",
    "basis": "air_minimum",
    "on": "10-05",
    "value": 53.0,
    "unit": "degF",
    "sensor": "air_min",
    "days": 3,
    "direction": "falling",
    "earliest": "09-10",
    "latest": "10-20",
    "rain_in": None,
    "base_f": None,
    "after_task": None,
}


def nights(lows_c: Sequence[float | None], row: dict[str, Any] = COLD_RUN, **more: Any) -> Edge:
    """Return the edge after nights from 1 September on."""
    rows = [
        {"date": FIRST + timedelta(days=n), "air_min_c": low, **more}
        for n, low in enumerate(lows_c)
    ]
    return known_on(row, weather_until(rows, as_of=LAST), {})


def known_on(
    row: dict[str, Any], weather: Weather, visits: Mapping[str, tuple[date, ...]], day: date = LAST
) -> Edge:
    """Return the edge of 2026 as known on a day."""
    known = KnownWeather(weather, np.array([day.toordinal()]))
    return edges(row, Evidence(known, visits), 2026).at(0)


def test_a_run_is_seen_on_its_last_day() -> None:
    assert nights([20.0] * 20 + [11.0] * 3).day == date(2026, 9, 23)


def test_a_broken_run_is_no_run() -> None:
    found = nights([20.0] * 20 + [11.0, 11.0, 15.0, 11.0, 11.0])
    assert found.seen is None


def test_a_gap_breaks_a_run() -> None:
    assert nights([*[20.0] * 20, 11.0, None, 11.0, 11.0]).seen is None


def test_nothing_before_the_search_starts_moves_the_edge_before_it() -> None:
    assert nights([5.0] * 30).day == date(2026, 9, 10)


def test_without_weather_the_calendar_day_stands() -> None:
    found = nights([])
    assert (found.day, found.searched_to) == (date(2026, 10, 5), None)


def test_where_nothing_was_seen_the_edge_waits_for_the_end_of_the_record() -> None:
    assert nights([20.0] * 41).day == date(2026, 10, 12)  # record ends 11 Oct


def test_the_edge_never_passes_its_latest_day() -> None:
    assert nights([20.0] * 80).day == date(2026, 10, 20)


def test_a_front_needs_rain_and_a_cool_night() -> None:
    front = COLD_RUN | {"basis": "cooling_front", "value": 60.0, "rain_in": 0.2}
    cool = [20.0] * 20 + [12.0] * 2
    assert nights(cool, front, rain_mm=0.0).seen is None
    assert nights([20.0] * 22, front, rain_mm=20.0).seen is None
    assert nights(cool, front, rain_mm=20.0).day == date(2026, 9, 21)


def test_degree_days_add_up_from_the_first_day_searched_and_stop_at_a_gap() -> None:
    """30 degF-days a day (mean 80 F, base 50 F) from 10 September reach 150 on the fifth day."""
    row = COLD_RUN | {
        "basis": "degree_days",
        "unit": "F-days",
        "value": 150.0,
        "base_f": 50.0,
        "on": "10-01",
    }
    mean_c = (80.0 - 32.0) / 1.8
    assert nights([mean_c] * 30, row, air_max_c=mean_c).seen == date(2026, 9, 14)
    broken = nights([*[mean_c] * 11, None, *[mean_c] * 18], row, air_max_c=mean_c)
    assert broken.seen is None
    assert broken.searched_to == date(2026, 9, 11)


@pytest.mark.parametrize(("measured_c", "estimated"), [(None, True), (30.0, False)])
def test_measured_soil_beats_the_estimate(measured_c: float | None, *, estimated: bool) -> None:
    row = COLD_RUN | {"basis": "soil_temperature", "sensor": "soil_4in", "value": 75.0}
    days = warm_climate(date(2026, 8, 1), date(2026, 10, 15))
    rows = [day | {"soil_4in_c": measured_c} for day in days]
    found = known_on(row, weather_until(rows, as_of=date(2026, 10, 15)), {})
    assert found.estimated is estimated
    assert (found.seen is not None) is estimated  # 30 degC measured is not under 75 F


def test_a_task_is_followed_after_its_own_interval() -> None:
    row = COLD_RUN | {"basis": "after_task", "after_task": "first", "value": 21.0, "unit": "d"}
    no_weather = weather_until([], as_of=LAST)
    done = {"first": (date(2025, 9, 20), date(2026, 9, 20))}
    assert known_on(row, no_weather, done).day == date(2026, 10, 11)
    last_year_only = {"first": (date(2025, 9, 20),)}
    assert known_on(row, no_weather, last_year_only).day == date(2026, 10, 5)
    done_late = {"first": (date(2026, 10, 10),)}
    assert known_on(row, no_weather, done_late).day == date(2026, 10, 20)


def test_what_is_known_on_a_day_does_not_look_past_it() -> None:
    """The same record, looked at on each day, gives what the record cut off there would."""
    lows = [20.0] * 20 + [11.0] * 5 + [20.0] * 60
    rows = [{"date": FIRST + timedelta(days=n), "air_min_c": low} for n, low in enumerate(lows)]
    whole = weather_until(rows, as_of=LAST)
    days = [FIRST + timedelta(days=n) for n in range(-3, 90)]
    known = KnownWeather(whole, np.array([day.toordinal() for day in days]))
    found = edges(COLD_RUN, Evidence(known, {}), 2026)
    for place, day in enumerate(days):
        cut = known_on(COLD_RUN, weather_until(rows, as_of=day), {}, day)
        assert found.at(place) == cut
