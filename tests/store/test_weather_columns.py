"""The columns of weather files are those of the map and of the season, in the same units."""

from turfmap.foundations.definitions import map_layer
from turfmap.season.weather import COLUMNS, OTHERS
from turfmap.store.weather_columns import DAILY, HOURLY
from turfmap.store.weather_hours import REDUCTIONS


def test_every_daily_column_has_its_place_in_the_map_and_in_the_season() -> None:
    names = [quantity.column for quantity in DAILY]
    assert set(names) == {*COLUMNS, *OTHERS}
    assert set(names) == set(map_layer("weather").columns) - {"station", "date"}


def test_what_a_file_may_hold_the_map_may_hold() -> None:
    for quantity in DAILY:
        column = map_layer("weather").columns[quantity.column]
        assert column.minimum is not None
        assert column.maximum is not None
        assert column.minimum <= quantity.low
        # A sensor in fog shows 105 %, which is read as 100.
        highest = 100.0 if quantity.column.endswith("_pct") else quantity.high
        assert highest <= column.maximum


def test_every_daily_column_is_made_of_an_hourly_one_and_every_hourly_one_is_used() -> None:
    assert set(REDUCTIONS) == {quantity.column for quantity in DAILY}
    assert {source for source, _ in REDUCTIONS.values()} == {one.column for one in HOURLY}


def test_no_two_names_stand_for_two_quantities() -> None:
    for quantities in (DAILY, HOURLY):
        every = [name for quantity in quantities for name in quantity.theirs]
        assert len(set(every)) == len(every)
        assert all(one.column in one.theirs for one in quantities)
