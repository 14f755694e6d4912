"""Degree-days against worked values and a printed year.

Sources:

- Purdue University explanation of growing degree days (trade reprint): 74/52 F on base 50 gives
  13; 58/40 F gives -1, which counts as 0.
- County Extension blog quoting Crop and Soil Environmental News, Virginia Tech, Jan 2007:
  75/27 F on base 50 gives 1.
- The year: TMY3 Greensboro, NC, in pvlib's own package data, base 50 F from 1 January. Its sums
  were worked out once apart from this code: 59.67 before 1 March, 200 reached on 19 March,
  4338.27 in the year. To which day the hour 24:00 belongs moves the year's sum by half a percent.
"""

import warnings
from pathlib import Path

import numpy as np
import pvlib
import pytest
from pvlib.iotools import read_tmy3

from turfmap.season.signals import degree_days


@pytest.mark.parametrize(("high_f", "low_f", "expected"), [(74, 52, 13), (58, 40, 0), (75, 27, 1)])
def test_worked_days(high_f: float, low_f: float, expected: float) -> None:
    found = degree_days(np.array([low_f], float), np.array([high_f], float), base=50.0)
    assert found == pytest.approx([expected])


def test_a_typical_year_at_greensboro() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        hourly, _ = read_tmy3(
            Path(pvlib.__file__).parent / "data" / "723170TYA.CSV",
            coerce_year=2026,
            map_variables=True,
        )
    daily = hourly["temp_air"].groupby([hourly.index.month, hourly.index.day])
    low_f, high_f = (daily.min() * 1.8 + 32).to_numpy(), (daily.max() * 1.8 + 32).to_numpy()
    total = np.cumsum(degree_days(low_f, high_f, base=50.0))
    first_of_march, nineteenth_of_march = 31 + 28, 31 + 28 + 18
    assert total[first_of_march - 1] == pytest.approx(59.67, abs=0.005)
    assert np.flatnonzero(total >= 200.0)[0] == nineteenth_of_march
    assert total[-1] == pytest.approx(4338.27, rel=0.006)
