"""The week board's addresses: behind the key, strict, and nothing without a plan."""

from pathlib import Path
from typing import Any

import pytest

from tests.desk.recording import table
from tests.desk.test_spray_days import EFFORT, FIRST, GRAIN, LAST, given
from tests.doors.web.served import Client, client
from turfmap.desk.spray_days import searched_plan
from turfmap.desk.spray_inputs import prepared
from turfmap.desk.week_board import WeekBoard

STOP = "Alder · Autumn pre-emergent"
MOVE = {"stop": STOP, "day": "2026-09-24", "truck": "One", "version": 0}


@pytest.fixture
def served(place: Path) -> Client:
    table(place, "product", "name,active_ingredients,concentrations,formulation,rate,pack", GRAIN)
    ready = prepared(place, first=FIRST, last=LAST, given=given(place))
    return client(place, days=WeekBoard(ready, searched_plan(ready, EFFORT), EFFORT))


def test_a_stop_is_priced_moved_and_moved_back(served: Client) -> None:
    shown = served.get("/desk/days/board").json()
    assert (shown["version"], shown["can_undo"], shown["can_write"]) == (0, False, False)
    asked = {"stop": STOP, "version": 0}
    offers = served.ask("POST", "/desk/days/costs", json=asked).json()["offers"]
    assert [one["day"] for one in offers if one["possible"]] == [
        f"2026-09-{day}" for day in range(21, 26)
    ]
    moved = served.ask("POST", "/desk/days/move", json=MOVE).json()
    assert (moved["version"], moved["can_undo"]) == (1, True)
    late = served.ask("POST", "/desk/days/move", json=MOVE)
    assert late.status_code == 409
    assert "changed on another page" in late.json()["detail"]
    back = served.ask("POST", "/desk/days/undo", json={"version": 1}).json()
    assert back["board"] == shown["board"]


REFUSED: list[tuple[str, Any, int]] = [
    ("costs", {"stop": STOP}, 400),
    ("costs", {"stop": STOP, "version": True}, 400),
    ("costs", {"stop": 7, "version": 0}, 400),
    ("costs", [], 400),
    ("costs", {"stop": "Nowhere", "version": 0}, 400),
    ("costs", {"stop": STOP, "version": 9}, 409),
    ("move", {**MOVE, "truck": "Two"}, 400),
    ("undo", {"version": 0}, 400),
    ("write", {"version": 0}, 400),
    ("nothing", {"version": 0}, 404),
]


def test_what_is_not_understood_or_not_possible_is_refused(served: Client) -> None:
    found = [served.ask("POST", f"/desk/days/{path}", json=body) for path, body, _ in REFUSED]
    assert [one.status_code for one in found] == [status for *_, status in REFUSED]
    assert served.get("/desk/days/board").json()["version"] == 0


def test_the_plan_is_behind_the_key_and_the_page_holds_none_of_it(
    served: Client, place: Path
) -> None:
    for path in ("board", "costs"):
        shown = served.ask("GET", f"/desk/days/{path}", headers={"Authorization": ""})
        assert shown.status_code == 401
    page = served.get("/app/board.html")
    assert page.status_code == 200
    assert "Alder" not in page.text
    assert client(place).get("/desk/days/board").status_code == 404
