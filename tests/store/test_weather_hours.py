"""Hours made into days, counted by hand."""

from datetime import date
from pathlib import Path

import pytest

from turfmap.store.weather_file import WeatherFile, read_weather_file


def read(folder: Path, heading: str, lines: list[str]) -> WeatherFile:
    path = folder / "hours.csv"
    path.write_text("\n".join([heading, *lines]) + "\n", encoding="utf-8")
    return read_weather_file(path)


def day(of: int, hours: range, figures: str = "{h},0.1,50,2,5,240") -> list[str]:
    return [f"2026-05-{of:02}T{h:02}:00,{figures.format(h=h)}" for h in hours]


HEADING = "time,air_c,rain_in,humidity_pct,wind_m_per_s,gust_m_per_s,solar_w_per_m2"


def test_a_whole_day(tmp_path: Path) -> None:
    """Hours of 0 to 23 C, a tenth of an inch each; 240 W all day are 20.736 MJ."""
    found = read(tmp_path, HEADING, day(3, range(24)))
    (row,) = found.rows
    assert row["date"] == date(2026, 5, 3)
    expected = {
        "air_min_c": 0.0,
        "air_max_c": 23.0,
        "rain_mm": 24 * 2.54,
        "humidity_min_pct": 50.0,
        "humidity_pct": 50.0,
        "wind_m_per_s": 2.0,
        "gust_m_per_s": 5.0,
        "solar_mj_per_m2": 20.736,
    }
    assert {name: row[name] for name in expected} == pytest.approx(expected)
    assert len(found.hours) == 24
    assert found.notes == ["Days are made of hours; a day needs 20 of its hours."]


def test_a_day_with_too_few_hours_is_not_known_and_told(tmp_path: Path) -> None:
    """Nineteen hours may miss the frost, and their rain is too little."""
    lines = day(3, range(20)) + day(4, range(19))
    whole, short = read(tmp_path, HEADING, lines).rows
    assert whole["air_min_c"] == 0.0
    assert {short[name] for name in ("air_min_c", "rain_mm", "gust_m_per_s")} == {None}
    (note,) = (n for n in read(tmp_path, HEADING, lines).notes if "Too few hours" in n)
    assert "on 1 day:" in note
    assert "4 May 2026" in note


def test_each_quantity_is_counted_by_itself(tmp_path: Path) -> None:
    """Rain was measured in 12 hours only; the temperature in all."""
    lines = day(3, range(12)) + day(3, range(12, 24), "{h},,50,2,5,240")
    (row,) = read(tmp_path, HEADING, lines).rows
    assert row["air_max_c"] == 23.0
    assert row["rain_mm"] is None


def test_stations_and_order(tmp_path: Path) -> None:
    one = [f"Mill,{line}" for line in day(3, range(24))]
    other = [f"Dam,{line}" for line in day(3, range(24), "5,0,50,2,5,0")]
    found = read(tmp_path, f"station,{HEADING}", [*one[::-1], *other])
    assert [row["station"] for row in found.rows] == ["Dam", "Mill"]
    assert found.rows[0]["air_max_c"] == 5.0
    assert [hour["time"].hour for hour in found.hours if hour["station"] == "Mill"] == list(
        range(24)
    )


def test_days_are_those_of_the_clock_that_the_file_is_written_by_and_that_is_told(
    tmp_path: Path,
) -> None:
    lines = [f"2026-05-03T{hour:02}:00Z,{hour}" for hour in range(24)]
    found = read(tmp_path, "time,air_c", lines)
    assert [row["date"] for row in found.rows] == [date(2026, 5, 3)]
    assert any("a day of that clock" in note for note in found.notes)
