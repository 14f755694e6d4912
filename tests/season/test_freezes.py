"""Freezes of several winters, counted by hand."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from turfmap.season.freezes import freeze_days, next_freeze
from turfmap.season.weather import Site, Weather, weather_until

# First and last freeze of winters that begin in 2020 to 2023; the last had none.
WINTERS = [
    (date(2020, 11, 1), date(2021, 3, 20)),
    (date(2021, 11, 11), date(2022, 4, 4)),
    (date(2022, 10, 20), date(2023, 3, 1)),
]


def four_winters() -> Weather:
    """Return nights of 5 C from July 2020 to June 2024, but for the freezes of `WINTERS`."""
    first, last = date(2020, 7, 1), date(2024, 6, 30)
    frozen = {day for winter in WINTERS for day in winter}
    days = [first + timedelta(days=number) for number in range((last - first).days + 1)]
    return weather_until(
        [{"date": day, "air_min_c": -1.0 if day in frozen else 5.0} for day in days], as_of=last
    )


def test_shares_are_those_of_the_winters_on_record_with_their_number() -> None:
    found = freeze_days(four_winters(), threshold_c=0.0)
    assert found.years == 4
    assert found.share_frozen_by(date(2026, 10, 19)) == 0.0
    assert found.share_frozen_by(date(2026, 11, 1)) == pytest.approx(0.5)
    assert found.share_frozen_by(date(2026, 12, 31)) == pytest.approx(0.75)
    assert found.share_freezing_after(date(2026, 3, 19)) == pytest.approx(0.5)
    assert found.share_freezing_after(date(2026, 4, 4)) == 0.0
    assert "4 winters of record, 2020 to 2024; too few to trust" in found.words()


def test_days_by_which_a_share_of_winters_had_frozen_and_was_past_freezing() -> None:
    found = freeze_days(four_winters(), threshold_c=0.0)
    assert found.first_by_share(0.5, winter=2026) == date(2026, 11, 1)
    assert found.first_by_share(1.0, winter=2026) is None  # one winter never froze
    assert found.last_by_share(0.75, winter=2026) == date(2027, 3, 20)
    assert found.last_by_share(1.0, winter=2026) == date(2027, 4, 4)


def test_a_winter_with_holes_does_not_count_nor_do_forecasts() -> None:
    weather = four_winters()
    holed = weather.air_min_c.copy()
    holed[:40] = np.nan
    assert freeze_days(replace(weather, air_min_c=holed), threshold_c=0.0).years == 3
    ahead = replace(weather, forecast_from=date(2024, 1, 1))
    assert freeze_days(ahead, threshold_c=0.0).years == 3


def test_no_whole_winter_says_nothing() -> None:
    found = freeze_days(weather_until([], as_of=date(2026, 1, 1)), threshold_c=0.0)
    assert found.years == 0
    assert found.share_frozen_by(date(2026, 11, 1)) is None
    assert found.first_by_share(0.5, winter=2026) is None


def test_south_of_the_equator_a_winter_lies_within_a_year() -> None:
    south = replace(four_winters(), site=Site(-33.0, 149.0))
    assert freeze_days(south, threshold_c=0.0).winters.tolist() == [2021, 2022, 2023]


def test_this_years_freeze_is_recorded_forecast_or_not_seen_yet() -> None:
    weather = four_winters()
    seen = next_freeze(weather, since=date(2022, 9, 1), threshold_c=0.0)
    assert (seen.day, seen.is_forecast) == (date(2022, 10, 20), False)
    ahead = replace(weather, forecast_from=date(2022, 10, 18))
    assert next_freeze(ahead, since=date(2022, 9, 1), threshold_c=0.0).is_forecast
    none = next_freeze(weather, since=date(2024, 5, 1), threshold_c=0.0)
    assert none.words() == "none up to 30 Jun 2024"
    nothing = weather_until([], as_of=date(2026, 1, 1))
    assert next_freeze(nothing, since=date(2026, 1, 1), threshold_c=0.0).words() == "not known"
