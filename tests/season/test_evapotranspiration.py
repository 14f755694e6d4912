"""Which method a day's evapotranspiration comes by, and that it says so."""

from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from turfmap.season.evapotranspiration import (
    HARGREAVES,
    NONE,
    PENMAN,
    PENMAN_NO_SUN,
    ReferenceET,
    reference_et,
)
from turfmap.season.weather import Site, weather_until

SITE = Site(33.5, -84.0, 250.0)
FULL: dict[str, Any] = {
    "air_min_c": 20.0,
    "air_max_c": 32.0,
    "humidity_min_pct": 45.0,
    "humidity_max_pct": 90.0,
    "wind_m_per_s": 3.0,
    "solar_mj_per_m2": 22.0,
}


def found(*days: dict[str, Any]) -> ReferenceET:
    rows = [{"date": date(2026, 7, 1) + timedelta(days=n), **day} for n, day in enumerate(days)]
    return reference_et(weather_until(rows, as_of=date.max), SITE)


def without(*names: str) -> dict[str, Any]:
    return {name: value for name, value in FULL.items() if name not in names}


def test_each_day_takes_the_best_method_that_its_figures_allow_and_says_which() -> None:
    et = found(
        FULL,
        without("solar_mj_per_m2"),
        without("wind_m_per_s"),
        without("humidity_min_pct"),
        without("air_max_c"),
    )
    assert et.method.tolist() == [PENMAN, PENMAN_NO_SUN, HARGREAVES, HARGREAVES, NONE]
    assert np.isnan(et.et_mm).tolist() == [False] * 4 + [True]
    # A July day in Georgia: 4 to 7 mm (common practice, no source), by every method.
    assert ((et.et_mm[:4] > 4.0) & (et.et_mm[:4] < 7.0)).all()
    said = " ".join(et.notes())
    assert "Hargreaves, from temperature alone" in said
    assert "(2 days)" in said


@pytest.mark.parametrize(
    "humidity",
    [{"dew_point_c": 18.2}, {"humidity_min_pct": 45.0, "humidity_max_pct": 90.0}],
    ids=["dew point", "extremes"],
)
def test_ways_of_saying_the_same_humidity_agree(humidity: dict[str, float]) -> None:
    """20 C at 90 % and 32 C at 45 % are both about 2.1 kPa, and so is a dew point of 18.2 C."""
    bare = without("humidity_min_pct", "humidity_max_pct")
    assert found(bare | humidity).et_mm == pytest.approx(found(FULL).et_mm, rel=0.01)


def test_drier_windier_and_brighter_days_use_more() -> None:
    drier = FULL | {"humidity_min_pct": 25.0}
    windier = FULL | {"wind_m_per_s": 6.0}
    brighter = FULL | {"solar_mj_per_m2": 27.0}
    assert (found(drier, windier, brighter).et_mm > found(FULL, FULL, FULL).et_mm).all()
