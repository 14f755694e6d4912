"""A stop is moved by hand: its cost first, the move, the way back; and the files of a plan."""

import json
from pathlib import Path
from typing import Any

import pytest
import shapely

from tests.desk.test_spray_days import EFFORT, FIRST, LAST, given, place
from turfmap.desk.days_out import NAMES, days_out
from turfmap.desk.spray_days import plan_told, searched_plan
from turfmap.desk.spray_inputs import prepared
from turfmap.desk.week_board import ChangedMeanwhileError, WeekBoard
from turfmap.foundations.errors import InputFaultsError

__all__ = ["place"]
STOP = "Alder · Autumn pre-emergent"


@pytest.fixture
def written() -> list[dict[str, Any]]:
    return []


@pytest.fixture
def board(place: Path, written: list[dict[str, Any]]) -> WeekBoard:
    asked = given(place, truck="One,-84.01,33.0,400 lb; 200 gal,applicator,Mon; Tue; Thu,8")
    ready = prepared(place, first=FIRST, last=LAST, given=asked)
    return WeekBoard(ready, searched_plan(ready, EFFORT), EFFORT, write=written.append)


def days_of(shown: dict[str, Any]) -> list[str]:
    """Return the days on which the stop stands."""
    return [
        day["day"]
        for day in shown["board"]["days"]
        for truck in day["trucks"]
        for outing in truck["outings"]
        if STOP in [stop["stop"] for stop in outing["stops"]]
    ]


def test_every_day_says_its_cost_or_why_not(board: WeekBoard) -> None:
    offers = {one["day"]: one for one in board.costs(STOP, 0)["offers"]}
    assert [day for day, one in offers.items() if one["possible"]] == [
        "2026-09-21",
        "2026-09-22",
        "2026-09-24",
    ]
    # The only stop from the only depot: the way is as long on any day.
    assert offers["2026-09-24"]["driving_min"] == 0
    assert offers["2026-09-23"]["why"]


def test_a_move_is_made_and_taken_back(board: WeekBoard, written: list[dict[str, Any]]) -> None:
    (before,) = days_of(board.shown())
    after = board.move(STOP, "2026-09-24", "One", 0)
    assert days_of(after) == ["2026-09-24"] != [before]
    assert (after["can_undo"], after["version"]) == (True, 1)
    board.write(1)
    assert written[0]["days"][0]["day"] == "2026-09-24"
    assert written[0]["checked"]["faults"] == []
    back = board.undo(1)
    assert days_of(back) == [before]
    assert not back["can_undo"]
    with pytest.raises(InputFaultsError, match="no move to take back"):
        board.undo(2)


def test_what_a_rule_forbids_or_another_page_has_changed_is_not_moved(board: WeekBoard) -> None:
    with pytest.raises(InputFaultsError, match="cannot be moved there: that truck does not work"):
        board.move(STOP, "2026-09-23", "One", 0)
    with pytest.raises(InputFaultsError, match="no stop"):
        board.costs("Nowhere", 0)
    board.move(STOP, "2026-09-24", "One", 0)
    with pytest.raises(ChangedMeanwhileError):
        board.costs(STOP, 0)
    with pytest.raises(ChangedMeanwhileError):
        board.move(STOP, "2026-09-21", "One", 0)
    with pytest.raises(ChangedMeanwhileError):
        board.undo(0)


# RFC 7946, 3.1.1 and 4: longitude first, WGS 84; read back by shapely's own reader.
def test_all_files_are_written_twice_alike_and_open(place: Path, tmp_path: Path) -> None:
    ready = prepared(place, first=FIRST, last=LAST, given=given(place))
    plan = plan_told(ready, searched_plan(ready, EFFORT), EFFORT)
    folder = tmp_path / "week"
    texts = []
    for _ in "ab":
        days_out(place, plan, folder, time_zone="America/New_York", pdf=False)
        texts.append({name: (folder / name).read_bytes() for name in NAMES})
    assert texts[0] == texts[1]
    way, stop = shapely.get_parts(shapely.from_geojson(texts[0]["plan.geojson"]))
    assert way.coords[0] == way.coords[-1] == (-84.01, 33.0)
    assert (stop.x, stop.y) == pytest.approx((-83.99975, 33.0003), abs=0.01)
    assert json.loads(texts[0]["plan.json"])["stops"] == plan["stops"]
    assert texts[0]["stops.csv"].decode("utf-8").count("\r\n") == 1 + len(plan["stops"])


def test_a_file_of_somebody_else_is_not_replaced(place: Path, tmp_path: Path) -> None:
    ready = prepared(place, first=FIRST, last=LAST, given=given(place))
    plan = plan_told(ready, searched_plan(ready, EFFORT), EFFORT)
    (tmp_path / "calendar.ics").write_text("BEGIN:VCALENDAR\r\n", encoding="utf-8")
    with pytest.raises(InputFaultsError, match="turfmap did not write"):
        days_out(place, plan, tmp_path, time_zone=None, pdf=False)
    assert (tmp_path / "calendar.ics").read_text(encoding="utf-8") == "BEGIN:VCALENDAR\n"


# A cell that begins with = is run by a spreadsheet; see `turfmap.store.csv_text`.
def test_no_cell_is_a_formula(place: Path, tmp_path: Path) -> None:
    ready = prepared(place, first=FIRST, last=LAST, given=given(place))
    plan = plan_told(ready, searched_plan(ready, EFFORT), EFFORT)
    plan["stops"][0]["client"] = "=1+1"
    days_out(place, plan, tmp_path, time_zone=None, pdf=False)
    assert ",'=1+1," in (tmp_path / "stops.csv").read_text(encoding="utf-8")
