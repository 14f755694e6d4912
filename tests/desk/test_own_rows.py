"""A user's own rows of reference tables: brought in, kept in the file, and used."""

import json
from datetime import date
from pathlib import Path

import pytest

from tests.desk.test_due import place, states, table
from turfmap.desk.due import due
from turfmap.desk.import_batch import Source
from turfmap.desk.own_rows import bring_in_rows, own_rows
from turfmap.foundations.errors import InputFaultsError

__all__ = ["place"]

# A closing date that a user read off a label, in place of the shipped 5 October.
CLOSES = (
    "task,window,edge,basis,latitude_from,latitude_to,on,source",
    "autumn_pre_emergent,middle,closes,date,31,34.2,09-20,the label in hand",
)


def test_an_own_row_beats_the_shipped_one_and_is_cited(place: Path) -> None:
    assert states(place)["Alder / Front"] == "due"
    table(place, "window", *CLOSES)
    assert states(place)["Alder / Front"] == "missed"
    task = next(
        task
        for task in due(place, as_of=date(2026, 9, 24))["zones"][0]["tasks"]
        if task["task"] == "autumn_pre_emergent"
    )
    assert task["closes"] == "2026-09-20"
    assert "the label in hand" in task["sources"]


def test_a_row_brought_in_twice_is_there_once(place: Path) -> None:
    table(place, "window", *CLOSES)
    table(place, "window", CLOSES[0], CLOSES[1].replace("09-20", "10-03"))
    assert states(place)["Alder / Front"] == "due"


def test_an_own_task_with_its_window_and_hold(place: Path) -> None:
    table(
        place,
        "task",
        "task,title,code,ground,rank,chemical,tell_client,caution",
        "leaf_pick_up,Picking up leaves,LP,turf,9,no,We pick up the leaves.,Mind the ivy.",
    )
    table(
        place,
        "window",
        "task,window,edge,basis,latitude_from,latitude_to,on",
        "leaf_pick_up,autumn,opens,date,25,40,09-01",
        "leaf_pick_up,autumn,closes,date,25,40,12-01",
    )
    assert states(place, "leaf_pick_up")["Alder / Front"] == "due"
    table(
        place,
        "hold",
        "hold,tasks,basis,effect,question,answer,words",
        "not_wanted,leaf_pick_up,answer_is,held,overseeding,planned,Leaves shelter the seed.",
    )
    found = states(place, "leaf_pick_up")
    assert (found["Alder / Front"], found["Alder / Back"]) == ("due", "held")


@pytest.mark.parametrize(
    ("layer", "heading", "row", "problem"),
    [
        (
            "window",
            "task,window,edge,basis,latitude_from,latitude_to,on",
            "autumn_pre_emergent,mine,opens,date,25,40,09-01",
            "no row that opens it, or none that closes it",
        ),
        (
            "hold",
            "hold,tasks,basis,effect,words,days,other_tasks",
            "mine,autumn_pre_emergent,interval,held,No.,20,mowing_twice",
            "other_tasks names 'mowing_twice'",
        ),
        (
            "hold",
            "hold,tasks,basis,effect,words",
            "mine,autumn_pre_emergent,interval,held,No.",
            "basis interval needs a days",
        ),
        (
            "window",
            "task,window,edge,basis,latitude_from,latitude_to,on",
            "no_such_task,mine,opens,date,25,40,09-01",
            "not one of",
        ),
        ("tolerance", "active_ingredient,species,verdict", "prodiamine,bermuda,X", "not one of"),
    ],
)
def test_rows_that_cannot_be_judged_by_are_refused_in_words(
    place: Path, layer: str, heading: str, row: str, problem: str
) -> None:
    with pytest.raises(InputFaultsError, match=problem):
        table(place, layer, heading, row)
    assert states(place)["Alder / Front"] == "due"


def test_what_grass_bears_can_be_corrected(place: Path) -> None:
    rows = [f"{active},bermuda,N" for active in PRE_EMERGENTS]
    table(place, "tolerance", "active_ingredient,species,verdict", *rows)
    assert states(place)["Alder / Front"] == "held"


PRE_EMERGENTS = ("prodiamine", "dithiopyr", "pendimethalin", "indaziflam", "simazine", "atrazine")


def test_false_is_a_value_of_an_own_row(place: Path, tmp_path: Path) -> None:
    """JSON gives false where a CSV file gives a text; left out, it would be missing."""
    row = {
        "task": "leaf_pick_up",
        "title": "Picking up leaves",
        "code": "LP",
        "ground": "turf",
        "rank": 9,
        "chemical": False,
        "tell_client": "We pick up the leaves.",
        "caution": "Mind the ivy.",
    }
    features = [{"type": "Feature", "geometry": None, "properties": row}]
    file = tmp_path / "task.geojson"
    file.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    bring_in_rows(place, Source(file), table_name="task")
    (own,) = own_rows(place)["task"]
    assert not own["chemical"]


def test_two_own_rows_of_one_key_in_a_file_are_a_fault(place: Path) -> None:
    with pytest.raises(InputFaultsError, match=r"line 3.*autumn_pre_emergent.*in the file twice"):
        table(place, "window", *CLOSES, CLOSES[1].replace("09-20", "10-03"))
