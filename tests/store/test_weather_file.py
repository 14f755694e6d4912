"""Daily weather CSV: what is read, and what is told of a bad one."""

from datetime import date
from pathlib import Path

import pytest

from turfmap.foundations.errors import InputFaultsError
from turfmap.store import weather_file
from turfmap.store.weather_file import WeatherFile, read_weather_file


def read(folder: Path, text: str | bytes, **renamed: str) -> WeatherFile:
    path = folder / "station.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_weather_file(path, renamed=renamed)


def faults(folder: Path, text: str | bytes) -> str:
    with pytest.raises(InputFaultsError) as caught:
        read(folder, text)
    assert all("station.csv" in str(fault) for fault in caught.value.faults)
    return str(caught.value)


def test_us_units_become_si_by_the_exact_definitions(tmp_path: Path) -> None:
    """NIST SP 811, B.8: degC = (degF - 32) / 1.8; 1 in = 25.4 mm."""
    found = read(tmp_path, "date,air_min_f,air_max_f,rain_in,soil_4in_f\n2026-09-24,50,77,1,68\n")
    row = found.rows[0]
    assert row["date"] == date(2026, 9, 24)
    assert row["air_min_c"] == pytest.approx(10.0)
    assert row["air_max_c"] == pytest.approx(25.0)
    assert row["rain_mm"] == pytest.approx(25.4)
    assert row["soil_4in_c"] == pytest.approx(20.0)
    assert row["soil_2in_c"] is None
    assert found.notes == []


def test_order_case_mark_and_line_ends_do_not_matter(tmp_path: Path) -> None:
    text = (
        b"\xef\xbb\xbfRain_MM, AIR_MAX_C ,Date,air_min_c\r\n2,20,2026-01-02,10\r\n,,2026-01-01,\r\n"
    )
    rows = read(tmp_path, text).rows
    assert [row["date"].day for row in rows] == [1, 2]
    assert (rows[1]["rain_mm"], rows[0]["air_min_c"]) == (2.0, None)


def test_stations_are_kept_apart(tmp_path: Path) -> None:
    text = "station,date,air_min_c\nMill,2026-01-02,1\nDam,2026-01-02,2\nMill,2026-01-01,3\n"
    found = read(tmp_path, text)
    days = [(row["station"], row["date"].day) for row in found.rows]
    assert days == [("Dam", 2), ("Mill", 1), ("Mill", 2)]
    assert found.notes == []


def test_gaps_and_other_columns_are_told(tmp_path: Path) -> None:
    found = read(tmp_path, "date,air_min_c,wind\n2026-01-01,1,5\n2026-01-04,1,5\n2026-01-06,1,5\n")
    assert "wind" in found.notes[0]
    assert "lacks 3 days, the first after 1 Jan 2026" in found.notes[1]


def test_all_faults_are_told_at_once_each_with_its_line(tmp_path: Path) -> None:
    said = faults(
        tmp_path,
        "date,air_min_c,air_max_c,rain_mm\n"
        "24/09/2026,1,2,0\n"
        "2026-01-02,3,20,0\n"
        "2026-01-02,1,2,1\n"
        "2026-01-04,warm,9,0\n"
        "9999-01-05,nan,2,0\n"
        "2026-01-06,1,2,0,7\n",
    )
    lines = said.splitlines()
    wanted = [
        ("line 2", "not a date"),
        ("line 4", "on line 3 too"),
        ("line 5", "'warm', which is not a number"),
        ("line 6", "not a date of a record"),
        ("line 7", "5 values for 4 columns"),
    ]
    for line, problem in wanted:
        assert any(line in told and problem in told for told in lines), (line, problem)


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("day,air_min_c\n2026-01-01,1\n", "no column date and no column time"),
        ("time,air_c\n2026-01-01T25:00,1\n", "not a time"),
        ("time,air_c\n2026-01-01T05:10,1\n2026-01-01T05:50,1\n", "hour of"),
        ("date,wind\n2026-01-01,1\n", "no weather column"),
        ("date,air_min_c,air_min_f\n2026-01-01,1,34\n", "both given"),
        ("date,air_min_c,AIR_MIN_C\n2026-01-01,1,1\n", "two columns air_min_c"),
        ("", "no column date"),
        (b"date,air_min_c\n2026-01-01,\xff\n", "not UTF-8"),
        ('date,air_min_c\n2026-01-01,"1\n', "not CSV"),
    ],
)
def test_a_file_that_cannot_be_used_is_refused(
    tmp_path: Path, text: str | bytes, problem: str
) -> None:
    assert problem in faults(tmp_path, text)


def test_a_missing_or_huge_file_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(InputFaultsError, match="cannot be read"):
        read_weather_file(tmp_path / "none.csv")
    monkeypatch.setattr(weather_file, "MOST_BYTES", 10)
    assert "larger than" in faults(tmp_path, "date,air_min_c\n2026-01-01,1\n")


def test_a_file_of_faults_stops_early(tmp_path: Path) -> None:
    said = faults(tmp_path, "date,air_min_c\n" + "2026-13-01,x\n" * 5_000)
    assert len(said.splitlines()) < 300
    assert "reading stopped here" in said


def test_impossible_figures_are_left_out_and_told(tmp_path: Path) -> None:
    """A gust of 121 mph is a broken sensor; one of 119 may be a storm."""
    text = (
        "date,air_min_c,air_max_c,gust_mph,rain_mm\n"
        "2026-01-01,1,99,119,-1\n"
        "2026-01-02,30,20,121,inf\n"
        "2026-01-03,1,2,5,0\n"
    )
    found = read(tmp_path, text)
    first, second, third = found.rows
    assert (first["air_max_c"], first["rain_mm"]) == (None, None)
    assert first["gust_m_per_s"] == pytest.approx(119 * 0.44704)
    assert (second["gust_m_per_s"], second["air_min_c"], second["air_max_c"]) == (None,) * 3
    assert third["air_max_c"] == 2.0
    said = "\n".join(found.notes)
    for told in (
        "1 figure of air_max_c impossible and left out, the first 99 on line 2",
        "2 figures of rain_mm",
        "the first 121 on line 3",
        "On 1 day the lowest temperature is above the highest (line 3)",
    ):
        assert told in said


def test_marks_for_not_measured_are_no_faults_whatever_their_number(tmp_path: Path) -> None:
    lines = [f"2026-01-{day:02},-9999,-999\n" for day in range(1, 31)]
    found = read(tmp_path, "date,air_min_c,rain_mm\n" + "".join(lines))
    assert {row["air_min_c"] for row in found.rows} == {None}
    assert "30 figures of air_min_c read as" in found.notes[0]


def test_a_column_full_of_impossible_figures_has_the_wrong_unit(tmp_path: Path) -> None:
    lines = [f"2026-06-{day:02},{60 + day}\n" for day in range(1, 31)]
    told = faults(tmp_path, "date,air_max_c\n" + "".join(lines))
    assert "30 of its 30 figures cannot be" in told
    assert "check its unit" in told
    assert read(tmp_path, "date,air_max_f\n" + "".join(lines)).notes == []


def test_their_columns_can_be_named(tmp_path: Path) -> None:
    text = "DAY,TMIN,Tmax,air_min_c\n2026-01-01,50,77,3\n"
    found = read(tmp_path, text, DAY="date", tmin="air_min_f", TMAX="air_max_f")
    assert found.rows[0]["air_min_c"] == pytest.approx(10.0)
    assert found.rows[0]["air_max_c"] == pytest.approx(25.0)


@pytest.mark.parametrize(
    ("renamed", "problem"),
    [
        ({"TMIN": "air_min_f"}, "no column 'tmin'"),
        ({"low": "air_min"}, "'air_min' is no column of weather"),
        ({"low": "air_min_f", "high": "air_min_f"}, "two columns air_min_f"),
    ],
)
def test_a_wrong_name_is_told(tmp_path: Path, renamed: dict[str, str], problem: str) -> None:
    with pytest.raises(InputFaultsError, match=problem):
        read(tmp_path, "date,low,high\n2026-01-01,50,60\n", **renamed)


@pytest.mark.parametrize(
    ("name", "given", "si"),
    [
        ("wind_mph", 10.0, 4.4704),
        ("wind_m_per_s", 10.0, 10.0),
        ("wind_km_per_h", 36.0, 10.0),
        ("wind_knots", 10.0, 5.144444),
        ("solar_mj_per_m2", 20.0, 20.0),
        ("solar_w_per_m2", 250.0, 21.6),
        ("humidity_pct", 104.0, 100.0),
        ("dew_point_f", 50.0, 10.0),
    ],
)
def test_units_stand_in_the_name(tmp_path: Path, name: str, given: float, si: float) -> None:
    """NIST SP 811, B.8: 1 mph = 0.44704 m/s, 1 knot = 1852 m/h; a watt for a day is 0.0864 MJ."""
    row = read(tmp_path, f"date,{name}\n2026-01-01,{given}\n").rows[0]
    assert [value for value in row.values() if isinstance(value, float)] == pytest.approx(
        [si], rel=1e-6
    )


def test_a_file_may_say_where_its_stations_stand(tmp_path: Path) -> None:
    heading = "station,latitude,longitude,elevation_ft,date,air_min_c\n"
    found = read(tmp_path, heading + "Mill,33.5,-84.25,1000,2026-01-01,1\n")
    assert found.places["Mill"] == pytest.approx(
        {"latitude": 33.5, "longitude": -84.25, "elevation_m": 304.8}
    )
    assert found.notes == []
    moved = "Mill,33.5,-84.25,,2026-01-01,1\nMill,33.6,-84.25,,2026-01-02,1\n"
    assert "stands elsewhere" in faults(tmp_path, heading + moved)
