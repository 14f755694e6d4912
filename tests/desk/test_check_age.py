"""What is too old, or known too little, to say go: a survey of last year, and a windy night."""

import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.desk.checking import checked, front, make_place
from turfmap.desk.import_batch import Source
from turfmap.desk.own_rows import bring_in_rows

NIGHT = "2026-10-24T23:00"


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_place(tmp_path_factory.mktemp("known"))


# Spray drift mitigation of the Minnesota Department of Agriculture: labels prohibit spraying into
# an inversion. That wind of 5 mph breaks one up at night is common practice, no source.
def test_a_windy_night_is_asked_about_until_somebody_has_looked(place: Path) -> None:
    night = front(place, on=NIGHT, wind="8 mph NW")
    assert night["answer"] == "wait"
    [asked] = night["asked"]
    assert "does smoke or dust hang in a layer?" in asked
    assert "a figure from memory" in asked
    assert front(place, inversion="none", on=NIGHT, wind="8 mph NW")["answer"] == "go"
    assert front(place, wind="8 mph NW")["answer"] == "go"  # at eleven in the morning


def test_a_wind_that_the_business_vouches_for_settles_it(tmp_path: Path) -> None:
    path = make_place(tmp_path)
    rows = tmp_path / "own.csv"
    rows.write_text("limit,value,unit,plain\nmixing_least,7,mph,measured here\n", encoding="utf-8")
    bring_in_rows(path, Source(rows), table_name="spray_weather")
    assert front(path, on=NIGHT, wind="8 mph NW")["answer"] == "go"
    lighter = front(path, on=NIGHT, wind="6 mph NW")
    assert lighter["answer"] == "wait"
    assert "the wind is under 7 mph" in lighter["asked"][0]


# Our own definition, in treat_condition: a look round counts for 365 days. 24 Oct 2025 is 365 days
# before the day of the work, by the calendar.
def test_a_survey_of_more_than_a_year_ago_is_asked_again(tmp_path: Path) -> None:
    on_the_day = make_place(tmp_path, water_surveyed_on="2025-10-24")
    assert front(on_the_day)["answer"] == "go"
    older = front(make_place(tmp_path, water_surveyed_on="2025-10-23"))
    assert older["answer"] == "wait"
    [asked] = older["asked"]
    assert asked.startswith("Surveyed on 23 Oct 2025, more than 365 days before: unknown.")


def test_a_check_reads_one_snapshot_of_the_file(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody's edit can come between its parts: the file is opened once."""
    connect: Callable[..., sqlite3.Connection] = sqlite3.connect
    opened: list[object] = []

    def counted(*args: object, **more: object) -> sqlite3.Connection:
        opened.append(args)
        return connect(*args, **more)

    monkeypatch.setattr(sqlite3, "connect", counted)
    checked(place)
    assert len(opened) == 1
