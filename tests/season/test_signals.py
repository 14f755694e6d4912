"""Signals: runs of days, and what a sensor shows, on days that can be followed by hand."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from turfmap.season.signals import past, run_end_range, run_ends, sensed
from turfmap.season.weather import weather_until

FIRST = date(2026, 1, 1)


def test_a_run_ends_only_where_all_its_days_met() -> None:
    met = np.array([True, True, False, True, True, True])
    assert run_ends(met, 2).tolist() == [False, True, False, False, True, True]
    assert not run_ends(met[:1], 2).any()


def test_cells_side_by_side_give_what_each_gives_alone() -> None:
    met = np.random.default_rng(7).random((40, 5)) < 0.7
    together = run_ends(met, 3)
    assert all((together[:, cell] == run_ends(met[:, cell], 3)).all() for cell in range(5))


def test_a_gap_never_meets_a_threshold() -> None:
    values = np.array([np.nan, 5.0, 15.0])
    assert past(values, 10.0, falling=True).tolist() == [False, True, False]
    assert past(values, 10.0, falling=False).tolist() == [False, False, True]


def test_the_soonest_and_latest_end_lie_around_the_one_of_the_series_itself() -> None:
    """Rising by 1 a day, an error of 2 moves a crossing by 2 days each way; falling too."""
    rising = np.arange(20.0)
    soonest, latest = run_end_range(rising, threshold=10.0, days=3, falling=False, error=2.0)
    itself = run_ends(past(rising, 10.0, falling=False), 3)
    assert [np.argmax(one) for one in (soonest, itself, latest)] == [10, 12, 14]
    soonest, latest = run_end_range(rising[::-1], threshold=10.0, days=3, falling=True, error=2.0)
    assert [np.argmax(one) for one in (soonest, latest)] == [9, 13]


def test_forecast_days_have_estimated_soil_and_gaps_in_measured_soil_stay() -> None:
    days = [FIRST + timedelta(days=number) for number in range(45)]
    rows = [
        {"date": day, "air_min_c": 10.0, "air_max_c": 20.0, "soil_4in_c": 12.0} for day in days[:40]
    ]
    rows[35]["soil_4in_c"] = None
    ahead = [{"date": day, "air_min_c": 10.0, "air_max_c": 20.0} for day in days[40:]]
    weather = weather_until(rows, as_of=days[39], forecast=ahead)
    values, estimated = sensed(weather, "soil_4in")
    assert not estimated
    assert np.isnan(values[35])
    assert values[39] == 12.0
    assert values[44] > 15.0  # mean air and the soil's own warmth
    bare = replace(weather, soil_4in_c=np.full(45, np.nan))
    assert sensed(bare, "soil_4in")[1]
    assert sensed(bare, "soil_4in")[0][39] == pytest.approx(values[44])
