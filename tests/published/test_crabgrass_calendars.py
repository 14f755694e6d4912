"""The spring pre-emergent by the calendars that states print, for years without weather.

Georgia: University of Georgia Extension, Ben Hill County, 2019 (T5): 15 February to 15 March in
the south, 1 to 20 March in the north. Northern Florida: University of Florida IFAS column, 2023
(T10): 15 February to 1 March. Delaware: extension blog of 2009 quoting Crop Science 36:990 (T7):
1 March to 1 April in the south, 15 March to 15 April in the north. The latitudes and longitudes are
those of a town in each (from a map, to a tenth of a degree).
"""

from datetime import date, timedelta

import pytest

from tests.season.lawns import answer, bermuda, states

DAYS = [date(2027, 1, 1) + timedelta(days=number) for number in range(150)]
EARLY_D = 6  # our windows may open some days before the printed date, never close after it


@pytest.mark.parametrize(
    ("latitude", "longitude", "opens", "closes"),
    [
        (31.7, -83.3, date(2027, 2, 15), date(2027, 3, 15)),
        (34.5, -83.5, date(2027, 3, 1), date(2027, 3, 20)),
        (30.5, -83.4, date(2027, 2, 15), date(2027, 3, 1)),
        (38.7, -75.4, date(2027, 3, 1), date(2027, 4, 1)),
        (39.7, -75.6, date(2027, 3, 15), date(2027, 4, 15)),
    ],
    ids=["south Georgia", "north Georgia", "north Florida", "south Delaware", "north Delaware"],
)
def test_it_opens_about_the_printed_day_and_is_closed_by_the_last(
    latitude: float, longitude: float, opens: date, closes: date
) -> None:
    lawn = bermuda(
        latitude=latitude,
        longitude=longitude,
        species="tall_fescue" if latitude > 38 else "bermuda",
    )
    found = states(lawn, DAYS, answers=[answer("none")])["spring_pre_emergent"]
    due = [day for day, state in zip(DAYS, found, strict=True) if state == "due"]
    assert opens - timedelta(days=EARLY_D) <= due[0] <= opens + timedelta(days=EARLY_D)
    assert closes - timedelta(days=10) <= due[-1] <= closes
