"""Degree-days against worked values and a printed year.

Sources:

- Purdue University explanation of growing degree days (trade reprint): 74/52 F on base 50 gives
  13; 58/40 F gives -1, which counts as 0.
- County Extension blog quoting Crop and Soil Environmental News, Virginia Tech, Jan 2007:
  75/27 F on base 50 gives 1.
- The year: TMY3 Greensboro, NC, in pvlib's own package data. Its sums were worked out once apart
  from this code; they check our arithmetic on a whole year, not the method.
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
    daily = hourly["temp_air"].groupby(hourly.index.date)
    low_f, high_f = (daily.min() * 1.8 + 32).to_numpy(), (daily.max() * 1.8 + 32).to_numpy()
    total = np.cumsum(degree_days(low_f, high_f, base=50.0))
    print(len(total), total[[58, 59, 89, 90, 119, 120, -1]], list(daily.groups)[:2])
    assert total[59] == pytest.approx(59.67, abs=0.05)
