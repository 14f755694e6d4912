"""Judged in bulk: every column is what one day would be told, every row what one zone would."""

from datetime import date, timedelta
from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.season.lawns import answer, bermuda, columns, visit, zone
from tests.season.test_properties import ANSWERS, GROUNDS, VISITS, rows_of
from turfmap.season.due import due, judged_for
from turfmap.season.weather import weather_until
from turfmap.season.weeks import due_weeks

DAYS = [date(2026, 1, 20) + timedelta(days=31 * number) for number in range(22)]


@settings(max_examples=15, deadline=None)
@given(st.lists(GROUNDS, min_size=1, max_size=3), ANSWERS, VISITS, st.integers(0, 50))
def test_a_column_of_the_bulk_is_what_that_day_alone_is_told(
    grounds: list[dict[str, Any]],
    answers: list[dict[str, Any]],
    visits: list[dict[str, Any]],
    seed: int,
) -> None:
    """With the record, the answers and the visits known by that day only."""
    zones = columns([ground | {"name": str(place)} for place, ground in enumerate(grounds)])
    rows = rows_of(seed)
    given_: dict[str, Any] = {"answers": answers, "visits": visits}
    bulk = judged_for(zones, DAYS, weather=weather_until(rows, as_of=DAYS[-1]), **given_)
    names = bulk.rules.state_names
    for column, day in enumerate(DAYS[::5]):
        by_then: dict[str, Any] = {
            "answers": [row for row in answers if (row["answered_on"] or day) <= day],
            "visits": [row for row in visits if row["date"] <= day],
        }
        told = due(zones, weather=weather_until(rows, as_of=day), as_of=day, **by_then)
        for number, one in enumerate(told["zones"]):
            situation = int(bulk.which[number])
            ranked = bulk.ranked(situation, 5 * column)
            assert [each.task["task"] for each in ranked] == [t["task"] for t in one["tasks"]]
            for judged, task in zip(ranked, one["tasks"], strict=True):
                found = judged.at(5 * column)
                assert names[judged.states[5 * column]] == found.state == task["state"]
                opens = found.window.opens.isoformat() if found.window else None
                assert opens == task["opens"]
            first = bulk.first(situation)[5 * column]
            shown = bulk.tasks[first]["task"] if first >= 0 else None
            assert shown == next((task["task"] for task in one["tasks"]), None)


def test_zones_of_which_the_same_is_known_share_their_judgements() -> None:
    zones = columns(
        [bermuda(name=f"Zone {n}", property=f"Client {n % 7}", latitude=33.5) for n in range(70)]
    )
    board = judged_for(zones, DAYS, answers=[], visits=[], weather=weather_until([], as_of=DAYS[0]))
    assert len(board.situations) == 1
    assert board.states("autumn_pre_emergent").shape == (70, len(DAYS))
    assert len(np.unique(board.states("autumn_pre_emergent"), axis=0)) == 1


def test_equal_answers_to_different_questions_are_not_taken_for_one_another() -> None:
    """Both say yes: one that the grass is dry; the other to what knows no yes, so nothing."""
    lawns = columns([bermuda(name=name, property=name, irrigated=False) for name in ("A", "B")])
    december = date(2026, 12, 5)
    answers = [
        *(answer("none", property=name) for name in ("A", "B")),
        answer("yes", "turf_dry", property="A", answered_on=december),
        answer("yes", "weeds_in_bloom", property="B", answered_on=december),
    ]
    nothing = weather_until([], as_of=december)
    board = judged_for(lawns, [december], answers=answers, visits=[], weather=nothing)
    found = board.states("broadleaf_post_emergent")[:, 0]
    assert [board.rules.state_names[code] for code in found] == ["held", "ask"]


def test_each_zone_has_the_weather_of_its_own_cell() -> None:
    cold = [row | {"air_min_c": 9.0} for row in rows_of(1)]
    warm = [row | {"air_min_c": 21.0} for row in rows_of(1)]
    day = date(2026, 9, 29)
    zones = columns([bermuda(cell=0), bermuda(name="Other", cell=1), zone("woods", cell=1)])
    records = [weather_until(rows, as_of=day) for rows in (cold, warm)]
    found = due(zones, answers=[answer("none")], visits=[], weather=records, as_of=day)
    states = [
        next(t["state"] for t in one["tasks"] if t["task"] == "autumn_pre_emergent")
        for one in found["zones"][:2]
    ]
    assert states == ["missed", "due"]


def test_a_sowing_on_record_counts_only_from_its_day() -> None:
    sown = [visit("overseeding", date(2026, 10, 1))]
    lawn = columns([bermuda()])
    days = [date(2026, 9, 24), date(2026, 10, 2)]
    board = judged_for(
        lawn,
        days,
        answers=[answer("none", answered_on=date(2026, 8, 1))],
        visits=sown,
        weather=weather_until([], as_of=days[0]),
    )
    before, after = (
        board.rules.state_names[code] for code in board.states("autumn_pre_emergent")[0]
    )
    assert (before, after) == ("due", "held")


def test_a_week_of_the_map_is_what_that_day_is_told() -> None:
    """For all that is known on the day that the map is made for."""
    as_of = date(2026, 9, 24)
    lawns = [
        bermuda(name="Bermuda", irrigated=False),
        zone(name="Unknown"),
        bermuda(name="Fescue", species="tall_fescue"),
    ]
    given_: dict[str, Any] = {
        "answers": [
            answer("planned", zone="Fescue", date=date(2026, 10, 20), answered_on=as_of),
            answer("done", zone="Bermuda", date=date(2026, 10, 1), answered_on=as_of),
            answer("none", answered_on=date(2026, 6, 1)),
        ],
        "visits": [
            visit("spring_pre_emergent", date(2026, 2, 20)),
            visit("broadleaf_post_emergent", date(2026, 1, 10), "metsulfuron", 0.02),
        ],
    }
    weather = weather_until(rows_of(2), as_of=as_of)
    board = due_weeks(columns(lawns), as_of=as_of, weeks=(20, 30), weather=weather, **given_)
    names = [task["task"] for task in board["tasks"]]
    for column, day in enumerate(map(date.fromisoformat, board["days"])):
        told = due(columns(lawns), as_of=day, weather=weather, **given_)
        for one, packed in zip(told["zones"], board["zones"], strict=True):
            pattern = board["patterns"][packed["pattern"]]
            states = {
                names[int(place)]: board["states"][int(digits[column])]
                for place, digits in pattern["tasks"].items()
            }
            assert {task["task"]: task["state"] for task in one["tasks"]} == {
                name: state for name, state in states.items() if state != "none"
            }
            first = pattern["first"][column]
            assert names[first] == one["tasks"][0]["task"]
