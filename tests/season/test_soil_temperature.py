"""Soil from air, on days that can be followed by hand."""

import numpy as np
import pytest

from turfmap.foundations.definitions import table
from turfmap.season.soil_temperature import soil_from_air, trailing_mean, yearly_wave

GAP = np.nan


def test_a_trailing_mean_weighs_the_oldest_day_first_and_needs_them_all() -> None:
    found = trailing_mean(np.array([0.0, 8.0, 4.0, GAP, 4.0]), np.array([0.25, 0.75]))
    assert found == pytest.approx([GAP, 6.0, 5.0, GAP, GAP], nan_ok=True)
    assert np.isnan(trailing_mean(np.array([1.0]), np.array([0.5, 0.5]))).all()


def test_cells_side_by_side_give_what_each_gives_alone() -> None:
    values = np.random.default_rng(5).normal(size=(30, 3))
    weights = np.array([0.2, 0.3, 0.5])
    together = trailing_mean(values, weights)
    for cell in range(3):
        alone = trailing_mean(values[:, cell], weights)
        np.testing.assert_allclose(together[:, cell], alone)


@pytest.mark.parametrize("estimate", table("soil_estimate").rows, ids=lambda row: row["sensor"])
def test_soil_under_steady_air_is_the_air_and_its_own_warmth(estimate: dict[str, float]) -> None:
    """Whatever the weights, air that never changes gives itself plus the offset."""
    found = soil_from_air(np.full(40, 12.0), estimate)
    days = int(estimate["days"])
    assert np.isnan(found[: days - 1]).all()
    assert found[days - 1 :] == pytest.approx(12.0 + estimate["offset_c"])


def test_soil_follows_a_step_of_the_air_late_never_overshoots_and_later_the_deeper() -> None:
    air = np.concatenate([np.full(30, 5.0), np.full(30, 15.0)])
    rows = table("soil_estimate").by("sensor")
    shallow, deep = (
        soil_from_air(air, rows[name])[29:] - rows[name]["offset_c"]
        for name in ("soil_2in", "soil_4in")
    )
    for soil in (shallow, deep):
        assert (np.diff(soil) >= -1e-9).all()
        assert soil[0] == pytest.approx(5.0)
        assert soil[-1] == pytest.approx(15.0)
    assert 6.0 < deep[2] < shallow[2] < 12.0


def test_warmer_air_never_makes_colder_soil() -> None:
    random = np.random.default_rng(3)
    air = random.normal(15.0, 6.0, size=(80, 20))
    warmer = air + random.exponential(2.0, size=air.shape)
    for estimate in table("soil_estimate").rows:
        less, more = soil_from_air(air, estimate), soil_from_air(warmer, estimate)
        assert (more[29:] > less[29:]).all()


def test_the_yearly_wave_of_a_wave_is_that_wave() -> None:
    day = np.arange(1.0, 366.0)
    air = 15.0 - 12.0 * np.cos(2 * np.pi * (day - 20.0) / 365.0)
    wave = yearly_wave(air, day)
    assert wave is not None
    assert (wave.mean_c, wave.amplitude_c, wave.coldest_day) == pytest.approx((15.0, 12.0, 20.0))
    assert yearly_wave(air[:300], day[:300]) is None
