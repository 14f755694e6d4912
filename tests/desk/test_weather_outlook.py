"""The weather of the coming days: hours to spray in, freezes, soil, and what is not known.

Days and hours are invented; limits are those of the table spray_weather.
"""

import json
from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pvlib
import pytest

from tests.desk.test_bring_in import box, geojson
from tests.desk.test_weather import bring, written
from turfmap.desk.bring_in import bring_in
from turfmap.desk.new import new
from turfmap.desk.weather import Given
from turfmap.desk.weather_outlook import Ahead, weather_outlook
from turfmap.foundations.errors import InputFaultsError
from turfmap.season.weather_gaps import LinearFill

AS_OF = date(2026, 10, 3)
TMY3 = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """Return a place with a lawn at 33 N, 84 W and two winters of days, two of them missing."""
    path = tmp_path / "place.gpkg"
    new(path)
    lawn = geojson(tmp_path / "z.geojson", (box(0, 0), {"name": "Front", "kind": "turf"}))
    bring_in(path, lawn, layer_name="zone", property_name="Alder")
    lines = ["station,date,air_min_f,air_max_f,rain_in"]
    first = date(2024, 7, 1)
    for number in range((AS_OF - first).days + 1):
        day = first + timedelta(days=number)
        cold = day in {date(2024, 11, 20), date(2025, 3, 1), date(2025, 11, 4), date(2026, 3, 10)}
        if day not in {date(2026, 9, 10), date(2026, 9, 11)}:
            lines.append(f"Mill,{day},{30 if cold else 50},70,0")
    bring(path, "weather", "\n".join(lines) + "\n")
    return path


def hours(change: Callable[[datetime], dict[str, float]] = lambda _: {}, count: int = 72) -> str:
    """Return hours from midnight of AS_OF on: 70 F, dry, 6 mph, with what is changed."""
    lines = ["time,air_f,rain_in,wind_mph"]
    for number in range(count):
        time = datetime(AS_OF.year, AS_OF.month, AS_OF.day) + timedelta(hours=number)
        row = {"air_f": 70.0, "rain_in": 0.0, "wind_mph": 6.0} | change(time)
        lines.append(f"{time:%Y-%m-%dT%H:%M},{','.join(str(value) for value in row.values())}")
    return "\n".join(lines) + "\n"


def outlook(place: Path, forecast: str | None = None, **more: Any) -> dict[str, Any]:
    file = None if forecast is None else written(place, "ahead.csv", forecast)
    given = Given(forecast=file, fill=more.pop("fill", None))
    found = weather_outlook(place, Ahead(AS_OF, **more), given=given)
    assert json.loads(json.dumps(found, allow_nan=False)) == found
    return found


def station(found: dict[str, Any]) -> dict[str, Any]:
    (one,) = found["stations"]
    return dict(one)


def test_hours_are_fit_from_good_to_bad_and_the_end_of_the_forecast_is_not_known(
    place: Path,
) -> None:
    windy = hours(lambda time: {"wind_mph": 12.0} if 10 <= time.hour < 14 else {})
    days = station(outlook(place, windy))["spray_days"]
    assert [day["date"] for day in days] == ["2026-10-03", "2026-10-04", "2026-10-05"]
    assert days[0]["spans"] == ["00:00 to 10:00", "14:00 to 24:00"]
    assert days[0]["fit_hours"] == 20
    assert days[0]["against"] == ["4 h: wind over 10 mph"]
    assert days[2]["spans"][-1] == "14:00 to 20:00"  # rain may follow the last hours


def test_hours_of_a_forecast_follow_those_of_a_record_whatever_the_files_are_called(
    place: Path,
) -> None:
    """A record by the hour that ends at noon of the day, and a forecast in another file."""
    record = written(place, "past.csv", hours(count=12))
    ahead = written(place, "ahead.csv", hours(lambda _: {"wind_mph": 12.0}))
    given = Given(record=record, forecast=ahead)
    days = station(weather_outlook(place, Ahead(AS_OF), given=given))["spray_days"]
    assert [day["date"] for day in days] == ["2026-10-03", "2026-10-04", "2026-10-05"]
    assert [day["fit_hours"] for day in days] == [0, 0, 0]  # the forecast's go before the record's


def test_air_in_layers_is_minded_by_every_clock_that_may_be_meant(place: Path) -> None:
    """Sun at 33 N, 84 W on 3 October from about 6:30 to 18:15 standard time (memory)."""
    light = hours(lambda _: {"wind_mph": 4.0})
    for day in (
        station(outlook(place, light))["spray_days"][0],
        station(outlook(place, light, utc_offset_h=-5.0))["spray_days"][0],
    ):
        fit = {int(span[:2]) for span in day["spans"]}
        assert min(fit) >= 9
        assert all(int(span[9:11]) <= 17 for span in day["spans"])
        assert any("air may lie in layers" in line for line in day["against"])
    unknown, told = (
        station(outlook(place, light, **more))["spray_days"][0]["fit_hours"]
        for more in ({}, {"utc_offset_h": -5.0})
    )
    assert unknown < told
    assert any("smoke or dust" in line for line in outlook(place, light)["cautions"])


def test_without_hours_it_says_that_nothing_is_known_of_them(place: Path) -> None:
    for forecast in (None, "date,air_min_f,air_max_f\n2026-10-04,50,70\n"):
        found = outlook(place, forecast)
        assert station(found)["spray_days"] == []
        assert any("hours to spray in are not known" in line for line in found["cautions"])


def test_odds_of_freezes_are_those_of_the_winters_on_record(place: Path) -> None:
    """First at 30 F on 20 Nov and 4 Nov, last on 1 Mar and 10 Mar, two winters."""
    freeze, hard = station(outlook(place))["freezes"]
    assert freeze["first_by"] == {"10%": "2026-11-04", "50%": "2026-11-04", "90%": "2026-11-20"}
    assert freeze["last_by"]["90%"] == "2027-03-10"
    assert freeze["share_come_by_today"] == 0.0
    assert freeze["rests_on"].startswith("2 winters of record, 2024 to 2026; too few to trust")
    assert hard["first_by"] == {"10%": None, "50%": None, "90%": None}
    cold = "date,air_min_f,air_max_f\n2026-10-04,50,70\n2026-10-05,31,60\n"
    assert station(outlook(place, cold))["freezes"][0]["next_words"] == "forecast for 5 Oct 2026"


def test_gaps_are_told_and_filled_only_by_the_method_named(place: Path) -> None:
    gaps = station(outlook(place))["gaps"]
    assert gaps == [
        {"column": name, "days": 2, "longest_d": 2}
        for name in ("air_min_c", "air_max_c", "rain_mm")
    ]
    found = outlook(place, fill=LinearFill(3))
    assert [gap["column"] for gap in station(found)["gaps"]] == ["rain_mm"]
    assert any("straight lines over gaps of at most 3 days" in line for line in found["cautions"])


def test_the_soil_is_told_with_its_error_and_not_across_a_gap(place: Path) -> None:
    assert station(outlook(place))["soil"] == []
    last = station(outlook(place, fill=LinearFill(3)))["soil"][-1]
    assert last["sensor"] == "soil_4in"
    assert last["date"] == "2026-10-03"
    assert last["error_f"] == pytest.approx(2.7, abs=0.1)
    assert 55 < last["value_f"] < 68  # days of 60 F on the mean, and the estimate's offset


def test_a_typical_year_gives_no_odds_and_no_hours(place: Path) -> None:
    given = Given(record=TMY3)
    found = station(weather_outlook(place, Ahead(AS_OF), given=given))
    assert found["record"]["is_typical_year"]
    assert found["spray_days"] == []
    assert found["freezes"][0]["first_by"]["50%"] is None


def test_more_days_than_a_forecast_reaches_are_refused(place: Path) -> None:
    with pytest.raises(InputFaultsError, match="not from 1 to 16"):
        outlook(place, days=17)
