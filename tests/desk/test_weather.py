"""Which weather a property has: nearest station, a file for this run, a forecast."""

from datetime import date
from pathlib import Path

import numpy as np
import pvlib
import pytest

from turfmap.desk.bring_in import bring_in
from turfmap.desk.import_batch import Source
from turfmap.desk.import_columns import Columns
from turfmap.desk.new import new
from turfmap.desk.weather import Given, place_weather
from turfmap.foundations.errors import InputFaultsError
from turfmap.season.weather_gaps import LinearFill
from turfmap.store import geopackage

AS_OF = date(2026, 9, 3)
TMY3 = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
# A hundredth of a degree of latitude is about 0.69 miles.
MIDDLES = {"Alder": (-84.0, 33.0), "Birch": (-84.0, 33.9)}
STATIONS = "name,lon,lat,elevation_m\nMill,-84.0,33.01,250\nDam,-84.0,33.95,\n"
TWO = "station,date,air_min_c\nMill,2026-09-01,10\nMill,2026-09-03,12\nDam,2026-09-01,20\n"


@pytest.fixture
def place(tmp_path: Path) -> Path:
    path = tmp_path / "place.gpkg"
    new(path)
    return path


def bring(path: Path, layer: str, text: str, columns: Columns | None = None) -> list[str]:
    file = path.parent / f"{layer}.csv"
    file.write_text(text, encoding="utf-8")
    notes = bring_in(path, Source(file, columns or Columns()), layer_name=layer)["notes"]
    return [str(note) for note in notes]


def written(path: Path, name: str, text: str) -> Path:
    file = path.parent / name
    file.write_text(text, encoding="utf-8")
    return file


def test_each_property_takes_its_nearest_station_and_the_distance_is_told(place: Path) -> None:
    bring(place, "weather_station", STATIONS)
    bring(place, "weather", TWO)
    found = place_weather(place, MIDDLES, as_of=AS_OF)
    assert found.of("Alder").air_min_c[0] == 10.0
    assert found.of("Birch").air_min_c[0] == 20.0
    assert found.distance_m["Alder"] == pytest.approx(1109, abs=1)
    assert "Weather of Mill: 1 property, 0.7 miles away." in found.notes
    assert "Weather of Dam: 1 property, 3.4 miles away." in found.notes
    site = found.of("Alder").site
    assert site is not None
    assert (site.latitude, site.elevation_m, site.wind_height_m) == (33.01, 250.0, 10.0)


def test_the_order_of_properties_is_irrelevant(place: Path) -> None:
    bring(place, "weather_station", STATIONS)
    bring(place, "weather", TWO)
    other = dict(reversed(MIDDLES.items()))
    one, two = (place_weather(place, middles, as_of=AS_OF) for middles in (MIDDLES, other))
    assert (one.names, one.notes) == (two.names, two.notes)
    assert one.cell_of == two.cell_of


def test_a_station_without_a_place_is_used_only_if_it_is_the_only_one(place: Path) -> None:
    bring(place, "weather", "station,date,air_min_c\nMill,2026-09-01,10\n")
    alone = place_weather(place, MIDDLES, as_of=AS_OF)
    assert alone.of("Birch").air_min_c.tolist() == [10.0]
    assert alone.distance_m["Birch"] is None
    assert "Where Mill stands is not known" in alone.notes[0]
    bring(place, "weather", "station,date,air_min_c\nDam,2026-09-01,20\n")
    two = place_weather(place, MIDDLES, as_of=AS_OF)
    assert two.of("Alder").days == 0
    assert "Weather of Dam, Mill is not used" in two.notes[0]
    bring(place, "weather_station", "name,lon,lat\nDam,-84.0,33.95\n")
    one = place_weather(place, MIDDLES, as_of=AS_OF)
    assert one.of("Alder").air_min_c.tolist() == [20.0]
    assert "Weather of Mill is not used" in one.notes[0]
    assert "65.5 miles away; weather so far away may be another" in one.notes[1]


def test_a_property_without_a_shape_has_weather_only_if_there_is_one_station(place: Path) -> None:
    bring(place, "weather_station", STATIONS)
    bring(place, "weather", TWO)
    nowhere = {"Alder": (-84.0, 33.0), "Cedar": (np.nan, np.nan)}
    found = place_weather(place, nowhere, as_of=AS_OF)
    assert found.of("Cedar").days == 0
    assert any("without a shape" in note for note in found.notes)


def test_a_file_for_this_run_wins_and_may_say_where_its_stations_stand(place: Path) -> None:
    bring(place, "weather", "station,date,air_min_c\nMill,2026-09-01,10\n")
    text = (
        "station,latitude,longitude,date,air_min_c\nA,33,-84,2026-09-01,1\nB,34,-84,2026-09-01,2\n"
    )
    given = Given(written(place, "mine.csv", text))
    found = place_weather(place, MIDDLES, as_of=AS_OF, given=given)
    assert [found.of(name).air_min_c.tolist() for name in MIDDLES] == [[1.0], [2.0]]
    assert not any("Mill" in note for note in found.notes)


def test_a_forecast_is_joined_after_the_record_and_said(place: Path) -> None:
    bring(place, "weather_station", STATIONS)
    bring(place, "weather", TWO)
    ahead = "date,air_min_c\n2026-09-03,99\n2026-09-04,30\n2026-09-05,31\n".replace("99", "9")
    given = Given(forecast=written(place, "ahead.csv", ahead))
    found = place_weather(place, MIDDLES, as_of=AS_OF, given=given)
    alder, birch = found.of("Alder"), found.of("Birch")
    assert alder.air_min_c == pytest.approx([10, np.nan, 12, 30, 31], nan_ok=True)
    assert alder.forecast_from == date(2026, 9, 4)
    assert birch.forecast_from == date(2026, 9, 3)
    assert "Days after the record, up to 5 Sep 2026, are the forecast of ahead." in found.notes


def test_a_forecast_for_other_stations_is_refused(place: Path) -> None:
    bring(place, "weather_station", STATIONS)
    bring(place, "weather", TWO)
    ahead = "station,date,air_min_c\nX,2026-09-04,30\nY,2026-09-04,30\n"
    given = Given(forecast=written(place, "ahead.csv", ahead))
    with pytest.raises(InputFaultsError, match=r"ahead\.csv.*X, Y.*Dam, Mill"):
        place_weather(place, MIDDLES, as_of=AS_OF, given=given)


def test_gaps_are_filled_only_if_asked_for_and_then_told(place: Path) -> None:
    bring(place, "weather_station", STATIONS)
    bring(place, "weather", TWO)
    assert np.isnan(place_weather(place, MIDDLES, as_of=AS_OF).of("Alder").air_min_c[1])
    found = place_weather(place, MIDDLES, as_of=AS_OF, given=Given(fill=LinearFill(2)))
    assert found.of("Alder").air_min_c.tolist() == [10.0, 11.0, 12.0]
    assert any(note.startswith("Mill: Days filled by straight lines") for note in found.notes)


def test_without_any_weather_there_is_none(place: Path) -> None:
    found = place_weather(place, MIDDLES, as_of=AS_OF)
    assert found.of("Alder").days == 0
    assert found.notes == []
    assert place_weather(place, {}, as_of=AS_OF).cell_of == {}


def test_what_another_program_wrote_wrongly_is_a_fault(place: Path) -> None:
    bring(place, "weather", "station,date,air_min_c\nMill,2026-09-01,10\n")
    with geopackage.editing(place) as connection:
        connection.execute("UPDATE weather SET air_min_c = 400")
    with pytest.raises(InputFaultsError, match="weather 1: air_min_c is 400"):
        place_weather(place, MIDDLES, as_of=AS_OF)


def test_their_columns_and_the_station_are_named_on_the_way_in(place: Path) -> None:
    columns = Columns({"TMIN": "air_min_f", "WIND": "wind_mph"}, {"station": "Mill"})
    notes = bring(place, "weather", "DATE,TMIN,WIND,SKY\n2026-09-01,50,10,fair\n", columns)
    assert notes == ["Columns of the weather file not used: sky."]
    weather = place_weather(place, MIDDLES, as_of=AS_OF).of("Alder")
    assert weather.air_min_c == pytest.approx([10.0])
    assert weather.column("wind_m_per_s") == pytest.approx([4.4704])


def test_hours_become_days_on_the_way_in(place: Path) -> None:
    hours = "".join(f"2026-09-01T{hour:02}:00,{hour}\n" for hour in range(24))
    notes = bring(place, "weather", "time,air_c\n" + hours)
    assert any("Days are made of hours" in note for note in notes)
    weather = place_weather(place, MIDDLES, as_of=AS_OF).of("Alder")
    assert (weather.air_min_c.tolist(), weather.air_max_c.tolist()) == ([0.0], [23.0])


def test_a_typical_year_stands_for_the_year_of_the_day_and_the_one_before(place: Path) -> None:
    """So that what looks back over the new year finds something; it is said each time."""
    found = place_weather(place, MIDDLES, as_of=AS_OF, given=Given(TMY3))
    weather = found.of("Alder")
    assert (weather.first_day, weather.last_day) == (date(2025, 1, 1), AS_OF)
    assert np.isfinite(weather.air_min_c).all()
    assert any("typical year laid on 2026" in note for note in found.notes)
    assert any("laid on 2025 too" in note for note in found.notes)


def test_a_typical_year_is_brought_in_for_the_year_that_is_named(place: Path) -> None:
    columns = Columns(fixed={"station": "Typical", "year": "2026"})
    result = bring_in(place, Source(TMY3, columns), layer_name="weather")
    assert result["added"] == 365
    assert any("weather_station" in note for note in result["notes"])
    weather = place_weather(place, MIDDLES, as_of=AS_OF).of("Alder")
    assert (weather.first_day, weather.last_day) == (date(2026, 1, 1), AS_OF)
    for year in ("26", "soon", "-2026"):
        wrong = Source(TMY3, Columns(fixed={"year": year}))
        with pytest.raises(InputFaultsError, match="is not a year"):
            bring_in(place, wrong, layer_name="weather")
