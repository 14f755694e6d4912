"""Daily weather CSV: what is read, and what is told of a bad one."""

from datetime import date
from pathlib import Path

import pytest

from turfmap.foundations.errors import InputFaultsError
from turfmap.store import weather_file
from turfmap.store.weather_file import WeatherFile, read_weather_file


def read(folder: Path, text: str | bytes) -> WeatherFile:
    path = folder / "station.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_weather_file(path)


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
        "2026-01-02,30,20,0\n"
        "2026-01-02,1,2,-1\n"
        "2026-01-04,warm,99,0\n"
        "2026-01-05,nan,2,inf\n"
        "2026-01-06,1,2,0,7\n",
    )
    lines = said.splitlines()
    wanted = [
        ("line 2", "not a date"),
        ("line 3", "above the highest"),
        ("line 4", "on line 3 too"),
        ("line 4", "rain_mm is -1"),
        ("line 5", "'warm', which is not a number"),
        ("line 5", "air_max_c is 99"),
        ("line 6", "rain_mm is inf"),
        ("line 7", "5 values for 4 columns"),
    ]
    for line, problem in wanted:
        assert any(line in told and problem in told for told in lines), (line, problem)


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("day,air_min_c\n2026-01-01,1\n", "no column date"),
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
