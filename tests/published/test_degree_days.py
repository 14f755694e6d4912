"""Degree-days against worked values, a printed year and printed thresholds.

Sources:

- Purdue University explanation of growing degree days (trade reprint): 74/52 F on base 50 gives
  13; 58/40 F gives -1, which counts as 0.
- County Extension blog quoting Crop and Soil Environmental News, Virginia Tech, Jan 2007:
  75/27 F on base 50 gives 1; crabgrass starts to come up at 70 to 140.
- The year: TMY3 Greensboro, NC, in pvlib's own package data, base 50 F from 1 January. Its sums
  were worked out once apart from this code: 59.67 before 1 March, 225.45 up to 1 April, 200 reached
  on 19 March, 4338.27 in the year.
- Crop Science 36(4):990-996 (1996), abstract: smooth crabgrass first at 42 to 78 degree-days above
  12 C of soil an inch down, most at 140 to 230, counted from 1 April.
"""

from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pvlib
import pytest

from turfmap.foundations.definitions import table
from turfmap.season.degree_days import accumulated, each_day, first_reached, model_words
from turfmap.season.signals import degree_days
from turfmap.season.weather import Weather, weather_until
from turfmap.store.weather_file import read_weather_file

MODELS = table("degree_day").by("model")


@pytest.mark.parametrize(("high_f", "low_f", "expected"), [(74, 52, 13), (58, 40, 0), (75, 27, 1)])
def test_worked_days(high_f: float, low_f: float, expected: float) -> None:
    found = degree_days(np.array([low_f], float), np.array([high_f], float), base=50.0)
    assert found == pytest.approx([expected])
    mean_c = np.array([((high_f + low_f) / 2.0 - 32.0) / 1.8])
    assert each_day(mean_c, MODELS["crabgrass_virginia"]) == pytest.approx([expected], abs=1e-9)


@pytest.fixture(scope="module")
def greensboro() -> Weather:
    read = read_weather_file(
        Path(pvlib.__file__).parent / "data" / "723170TYA.CSV",
        year=2026,
    )
    return weather_until(read.rows, as_of=date(2026, 12, 31))


def test_a_typical_year_at_greensboro(greensboro: Weather) -> None:
    """The hour 24:00 belongs to the day that it ends: half a percent of the sum hangs on it."""
    total = accumulated(greensboro, MODELS["crabgrass_virginia"], year=2026)
    assert total[greensboro.position(date(2026, 2, 28))] == pytest.approx(59.67, abs=0.005)
    assert total[greensboro.position(date(2026, 4, 1))] == pytest.approx(225.45, abs=0.005)
    assert greensboro.day(np.flatnonzero(total >= 200.0)[0]) == date(2026, 3, 19)
    assert total[-1] == pytest.approx(4338.27, abs=0.005)
    assert (
        date(2026, 3, 1)
        < (day := first_reached(greensboro, MODELS["crabgrass_virginia"], year=2026) or date.max)
        < date(2026, 3, 19)
    ), day


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("smooth_crabgrass_first", 42, 78),
        ("smooth_crabgrass_major", 140, 230),
        ("crabgrass_virginia", 70, 140),
    ],
)
def test_crabgrass_thresholds_are_those_in_print(name: str, low: float, high: float) -> None:
    assert (MODELS[name]["from_sum"], MODELS[name]["to_sum"]) == (low, high)


def test_smooth_crabgrass_is_counted_as_in_print(greensboro: Weather) -> None:
    """Base, unit, sensor and start belong to the threshold: soil at 16 C adds 4 C-days a day."""
    days = [date(2026, 3, 1) + timedelta(days=number) for number in range(60)]
    rows = [{"date": day, "soil_2in_c": 16.0} for day in days]
    weather = weather_until(rows, as_of=days[-1])
    model = MODELS["smooth_crabgrass_first"]
    assert first_reached(weather, model, year=2026) == date(2026, 4, 11)  # 11 days of 4 are 44
    in_f = {**model, "unit": "F-days", "base": 53.6, "from_sum": 76.0}  # 42 and 12 C, times 1.8
    assert first_reached(weather, in_f, year=2026) == date(2026, 4, 11)
    words = model_words(model, year=2026)
    for part in ("42 to 78 C-days", "above 12 C", "soil at 1 in", "1 Apr 2026"):
        assert part in words
