"""The yearly wave of soil temperature (Hillel 1982) at one day and depth.

Source: the sinusoidal model as in the Oklahoma State University soil physics toolkit. Worked once
apart from this code: diffusivity 0.5e-6 m2/s gives a damping depth of 2.2403 m; mean 15 C, swing
12 C, coldest on day 20: day 80 at 0.1 m is 8.6861 C.
"""

import numpy as np
import pytest

from turfmap.season.soil_temperature import YearlyWave, damping_depth_m


def test_damping_depth_and_a_day_at_ten_centimetres() -> None:
    depth_m = damping_depth_m(0.5e-6)
    assert depth_m == pytest.approx(2.2403, abs=5e-5)
    wave = YearlyWave(15.0, 12.0, 20.0)
    found = wave.at(np.array([80.0]), depth_m=0.1, damping_depth_m=depth_m)
    assert found == pytest.approx([8.6861], abs=5e-5)


def test_one_damping_depth_down_the_swing_is_a_share_1_over_e_and_a_radian_late() -> None:
    """What the two words mean; followed through a year."""
    wave, day = YearlyWave(15.0, 12.0, 20.0), np.arange(0.0, 365.0, 0.1)
    deep = wave.at(day, depth_m=2.0, damping_depth_m=2.0)
    assert (deep.max() - deep.min()) / 24.0 == pytest.approx(np.exp(-1.0), rel=1e-4)
    late_d = day[deep.argmin()] - 20.0
    assert late_d == pytest.approx(365.0 / (2.0 * np.pi), abs=0.1)
