"""Weeks for the map: packed, and the same answers as for one day."""

import json
from datetime import date, timedelta
from pathlib import Path

from tests.desk.test_due import AS_OF, place, table
from turfmap.desk.due import due
from turfmap.desk.due_weeks import due_weeks

__all__ = ["place"]


def test_every_week_is_what_that_day_would_be_told(place: Path) -> None:
    found = due_weeks(place, as_of=AS_OF, weeks_before=2, weeks_after=4)
    assert found["days"][found["now"]] == AS_OF.isoformat()
    assert len(found["days"]) == 7
    names = [task["task"] for task in found["tasks"]]
    for column, day in enumerate(found["days"]):
        told = due(place, as_of=date.fromisoformat(day))["zones"]
        assert [(zone["property"], zone["zone"]) for zone in told] == [
            (zone["property"], zone["zone"]) for zone in found["zones"]
        ]
        for zone, packed in zip(told, found["zones"], strict=True):
            pattern = found["patterns"][packed["pattern"]]
            states = {
                names[int(place)]: found["states"][int(digits[column])]
                for place, digits in pattern["tasks"].items()
            }
            for task in zone["tasks"]:
                assert states.pop(task["task"]) == task["state"]
            assert set(states.values()) <= {"none"}
            first = pattern["first"][column]
            assert (names[first] if first >= 0 else None) == next(
                (task["task"] for task in zone["tasks"]), None
            )
            shown = found["states"][int(pattern["state"][column])]
            assert shown == next((task["state"] for task in zone["tasks"]), "none")
    json.dumps(found, allow_nan=False)


def test_what_was_not_known_on_the_day_does_not_count(place: Path) -> None:
    before = due_weeks(place, as_of=AS_OF)
    later = (AS_OF + timedelta(days=5)).isoformat()
    table(place, "visit", "property,zone,task,date", f"Alder,Front,autumn_pre_emergent,{later}")
    assert due_weeks(place, as_of=AS_OF) == before
