"""Signals: runs, means and soil from air, on days that can be followed by hand."""

import numpy as np
import pytest

from turfmap.foundations.definitions import table
from turfmap.season.signals import run_ends, soil_from_air, trailing_mean

GAP = np.nan


def test_a_trailing_mean_weighs_the_oldest_day_first_and_needs_them_all() -> None:
    found = trailing_mean(np.array([0.0, 8.0, 4.0, GAP, 4.0]), np.array([0.25, 0.75]))
    assert found == pytest.approx([GAP, 6.0, 5.0, GAP, GAP], nan_ok=True)
    assert np.isnan(trailing_mean(np.array([1.0]), np.array([0.5, 0.5]))).all()


def test_a_run_ends_only_where_all_its_days_met() -> None:
    met = np.array([True, True, False, True, True, True])
    assert run_ends(met, 2).tolist() == [False, True, False, False, True, True]
    assert not run_ends(met[:1], 2).any()


@pytest.mark.parametrize("estimate", table("soil_estimate").rows, ids=lambda row: row["sensor"])
def test_soil_under_steady_air_is_the_air_and_its_own_warmth(estimate: dict[str, float]) -> None:
    """Whatever the weights, air that never changes gives itself plus the offset."""
    found = soil_from_air(np.full(40, 12.0), estimate)
    days = int(estimate["days"])
    assert np.isnan(found[: days - 1]).all()
    assert found[days - 1 :] == pytest.approx(12.0 + estimate["offset_c"])


def test_soil_follows_a_step_of_the_air_late_and_never_overshoots() -> None:
    estimate = table("soil_estimate").by("sensor")["soil_4in"]
    air = np.concatenate([np.full(30, 5.0), np.full(30, 15.0)])
    soil = soil_from_air(air, estimate)[29:] - estimate["offset_c"]
    assert (np.diff(soil) >= -1e-9).all()
    assert soil[0] == pytest.approx(5.0)
    assert 6.0 < soil[2] < 12.0
    assert soil[-1] == pytest.approx(15.0)
