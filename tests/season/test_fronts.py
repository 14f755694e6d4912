"""A cooling front is rain with a cool night, in absolute figures."""

import numpy as np

from turfmap.season.fronts import front_days, front_is_known

NIGHTS = np.array([20.0, 15.0, 14.0, 18.0, 12.0, np.nan, 10.0])
RAIN = np.array([9.0, 0.0, 0.0, 0.0, 0.0, 9.0, np.nan])


def test_rain_counts_on_the_day_and_the_day_after() -> None:
    found = front_days(NIGHTS, RAIN, coolest_c=15.5, least_rain_mm=5.0)
    assert found.tolist() == [False, True, False, False, False, False, True]
    assert front_is_known(NIGHTS, RAIN).tolist() == [True] * 5 + [False] * 2


def test_warming_only_takes_fronts_away() -> None:
    random = np.random.default_rng(2)
    nights = random.normal(16.0, 4.0, size=(300, 4))
    rain = random.exponential(3.0, size=(300, 4))
    warmer = nights + random.exponential(1.0, size=nights.shape)
    before = front_days(nights, rain, coolest_c=15.0, least_rain_mm=5.0)
    after = front_days(warmer, rain, coolest_c=15.0, least_rain_mm=5.0)
    assert before.sum() > after.sum() > 0
    assert not (after & ~before).any()
