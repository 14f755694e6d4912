"""Typical years: Greensboro, NC (TMY3, in pvlib's package data), and a day of EPW made from it."""

from datetime import date, datetime, timedelta
from pathlib import Path

import pvlib
import pytest
from pvlib.iotools import read_tmy3

from turfmap.foundations.errors import InputFaultsError
from turfmap.store import weather_typical_year
from turfmap.store.weather_file import read_weather_file

TMY3 = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"


def test_a_year_is_laid_on_the_calendar_year_that_the_user_names() -> None:
    found = read_weather_file(TMY3, year=2025)
    assert found.is_typical
    assert (found.rows[0]["date"], found.rows[-1]["date"]) == (date(2025, 1, 1), date(2025, 12, 31))
    assert len(found.rows) == 365
    (place,) = found.places.values()
    assert place == {"latitude": 36.1, "longitude": -79.95, "elevation_m": 273.0}
    assert "typical year laid on 2025" in found.notes[0]


def test_its_rain_is_not_read() -> None:
    """The rain column of this very file sums to more than 8 m."""
    assert {row["rain_mm"] for row in read_weather_file(TMY3, year=2025).rows} == {None}
    assert "no rain" in read_weather_file(TMY3, year=2025).notes[0]


def test_the_first_day_is_that_of_pvlib() -> None:
    """The file names an hour by its end: 1:00 to 24:00 are the first day."""
    first = read_weather_file(TMY3, year=2026).rows[0]
    hours, _ = read_tmy3(TMY3, map_variables=True)
    assert first["air_min_c"] == hours["temp_air"].iloc[:24].min()
    assert first["air_max_c"] == hours["temp_air"].iloc[:24].max()
    assert first["solar_mj_per_m2"] == pytest.approx(hours["ghi"].iloc[:24].sum() * 0.0036)


def test_without_a_calendar_year_it_is_refused() -> None:
    with pytest.raises(InputFaultsError, match="belongs to no calendar year"):
        read_weather_file(TMY3)


def test_without_pvlib_one_sentence_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(weather_typical_year, "find_spec", lambda _name: None)
    with pytest.raises(InputFaultsError, match=r"pip install turfmap\[weather\]"):
        read_weather_file(TMY3, year=2026)


def test_a_torn_file_is_refused(tmp_path: Path) -> None:
    torn = tmp_path / "torn.csv"
    torn.write_text(TMY3.read_text("utf-8")[:6_000], "utf-8")
    with pytest.raises(InputFaultsError, match=r"torn\.csv.*not a whole typical year"):
        read_weather_file(torn, year=2026)


def epw(path: Path, air_c: str = "{hour}") -> Path:
    """Write a year of EPW: eight lines of heading, then 35 columns (its format, from memory)."""
    heading = ["LOCATION,Somewhere,NC,USA,TMY3,723170,36.10,-79.95,-5.0,270.0"]
    heading += ["DESIGN CONDITIONS,0", "TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0"]
    heading += ["HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", "COMMENTS 1,", "COMMENTS 2,"]
    heading += ["DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31"]
    lines = [
        f"1988,{day.month},{day.day},{hour},60,flags,{air_c.format(hour=hour)},5.0,80,99000,0,0,300,100,0,100"
        + ",0,0,0,0,200,3.0,5,5,16.1,1370,9,999999999,15,0.1,0,88,0.2,0.0,0.0"
        for day in (date(2025, 1, 1) + timedelta(days=number) for number in range(365))
        for hour in range(1, 25)
    ]
    path.write_text("\n".join([*heading, *lines]) + "\n", "utf-8")
    return path


def test_an_epw_file_is_read_too(tmp_path: Path) -> None:
    found = read_weather_file(epw(tmp_path / "some.epw"), year=2024)
    assert [row["date"] for row in found.rows[58:60]] == [date(2024, 2, 28), date(2024, 3, 1)]
    assert any("lacks 1 day, the first after 28 Feb 2024" in note for note in found.notes)
    assert (found.rows[0]["air_min_c"], found.rows[0]["air_max_c"]) == (1.0, 24.0)
    assert found.hours[0]["time"] == datetime(2024, 1, 1, 0)
    assert found.rows[0]["solar_mj_per_m2"] == pytest.approx(8.64)


def test_what_stands_for_missing_is_missing(tmp_path: Path) -> None:
    """99.9 is EPW's mark for a missing temperature."""
    found = read_weather_file(epw(tmp_path / "some.epw", air_c="99.9"), year=2024)
    assert found.rows[0]["air_max_c"] is None
    assert found.rows[0]["wind_m_per_s"] == pytest.approx(3.0)
