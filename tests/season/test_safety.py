"""What must never be read as leave to spray; all by our own rules, the figures from the tables."""

from datetime import date
from typing import Any

import pytest

from tests.season.lawns import answer, bermuda, judged, visit, warm_climate, zone
from turfmap.foundations.definitions import table

SEPTEMBER = date(2026, 9, 24)
DECEMBER = date(2026, 12, 1)
NONE = [answer("none")]


def held_by(task: dict[str, object], words: str) -> bool:
    return any(words in said for said in task["holds"])  # type: ignore[attr-defined]


def test_a_sowing_that_was_told_and_not_recorded_holds_herbicides_off_seedlings() -> None:
    """Common practice, no source: no herbicide on seedlings; our default is 60 days."""
    dated = [answer("done", date=date(2026, 10, 20), answered_on=date(2026, 11, 1))]
    told = judged(bermuda(), DECEMBER, answers=dated)["broadleaf_post_emergent"]
    assert told["state"] == "held"
    assert held_by(told, "held until 19 Dec 2026")
    undated = [answer("done", answered_on=date(2026, 11, 1))]
    asked = judged(bermuda(), DECEMBER, answers=undated)["broadleaf_post_emergent"]
    assert held_by(asked, "the day is not known")


def test_a_sowing_on_record_stands_whatever_is_answered_later() -> None:
    sown = [visit("overseeding", date(2026, 10, 1))]
    day = date(2026, 12, 28)
    for said in ("none", "planned"):
        later = [answer(said, answered_on=date(2026, 11, 20))]
        found = judged(bermuda(), day, answers=later, visits=sown)["dormant_clean_up"]
        assert found["state"] == "held", said
        assert held_by(found, "once ryegrass is up"), said


def test_a_plan_for_one_zone_is_not_lifted_by_an_answer_for_the_whole_property() -> None:
    """Nor a plan without the day it was told by what was written down before it."""
    lawn = bermuda()
    day = date(2026, 9, 24)
    plan = answer("planned", date=date(2026, 10, 10), zone=lawn["name"])
    for told_on in (None, date(2026, 8, 1)):
        said = [answer("none", answered_on=date(2026, 8, 15)), plan | {"answered_on": told_on}]
        found = judged(lawn, day, answers=said)["autumn_pre_emergent"]
        assert found["state"] == "held"
    newer = answer("none", answered_on=date(2026, 9, 1), zone=lawn["name"])
    said = [plan | {"answered_on": date(2026, 8, 1)}, newer]
    assert judged(lawn, day, answers=said)["autumn_pre_emergent"]["state"] == "due"


def test_a_look_at_the_grass_without_its_day_is_no_look() -> None:
    """Dormant on some day, in some winter: a clean-up spray on that is never due."""
    day = date(2026, 12, 28)
    undated = [answer("none", answered_on=date(2026, 9, 1)), answer("yes", "fully_dormant")]
    assert judged(bermuda(), day, answers=undated)["dormant_clean_up"]["state"] != "due"


@pytest.mark.parametrize(
    ("longitude", "state"),
    [
        (-83.0, "due"),
        (-118.0, "ask"),  # the far west
        (35.0, "ask"),  # another continent at that latitude
        (-75.0, "ask"),
        (float("nan"), "ask"),
    ],
)
def test_a_calendar_speaks_only_for_its_own_country(longitude: float, state: str) -> None:
    task = judged(bermuda(longitude=longitude), SEPTEMBER, answers=NONE)["autumn_pre_emergent"]
    assert task["state"] == state
    assert held_by(task, "No calendar is known") == (state == "ask")


def test_a_zone_whose_longitude_nobody_gave_has_no_calendar() -> None:
    lawn = bermuda()
    del lawn["longitude"]
    assert judged(lawn, SEPTEMBER, answers=NONE)["autumn_pre_emergent"]["state"] == "ask"


def test_a_window_of_the_users_own_may_speak_for_every_longitude() -> None:
    shipped = [row for row in table("window").rows if row["window"] == "piedmont"]
    mine = [
        row | {"longitude_from": None, "longitude_to": None, "latitude_from": 30.0}
        for row in shipped
        if row["task"] == "autumn_pre_emergent"
    ]
    lawn = bermuda(longitude=-118.0)
    task = judged(lawn, date(2026, 9, 10), answers=NONE, own_rows={"window": mine})
    assert task["autumn_pre_emergent"]["opens"] == "2026-09-01"


@pytest.mark.parametrize(("year", "last"), [(2027, 28), (2028, 29)])
def test_what_closes_with_february_closes_on_its_last_day(year: int, last: int) -> None:
    grass = zone("bed", bed_type="ornamental_grass")
    task = judged(grass, date(year, 2, 10))["bed_cut_back"]
    assert task["closes"] == f"{year}-02-{last}"
    assert judged(grass, date(year, 2, last))["bed_cut_back"]["state"] == "due"
    assert judged(grass, date(year, 3, 1))["bed_cut_back"]["state"] == "missed"


def test_ryegrass_on_unknown_grass_is_not_fed_before_somebody_looks() -> None:
    sown = [answer("done", date=date(2026, 10, 20), answered_on=date(2026, 10, 20))]
    task = judged(zone(), date(2027, 2, 10), answers=sown)["feeding_overseeded_ryegrass"]
    assert task["state"] == "ask"
    assert held_by(task, "grass is not known")


def test_nobody_is_told_that_missed_work_was_done() -> None:
    task = judged(bermuda(), date(2026, 10, 20), answers=NONE)["autumn_pre_emergent"]
    assert task["state"] == "missed"
    assert "We put down" not in task["tell_client"]
    assert "no visit on record" in task["tell_client"]


def ways_out(**known: Any) -> str:
    planned = [answer("planned", date=known.pop("seed_on", date(2026, 10, 30)))]
    lawn, day = known.pop("lawn", bermuda()), known.pop("day", date(2026, 10, 3))
    reasons = judged(lawn, day, answers=planned, **known)["autumn_pre_emergent"]["reasons"]
    return str(next(line for line in reasons if line.startswith("Instead, first")))


def test_only_what_is_itself_open_is_offered_instead() -> None:
    """Foramsulfuron leaves two weeks before seed (label text, source H8)."""
    open_now = ways_out()
    assert "open now" in open_now
    assert "until 16 Oct 2026: foramsulfuron" in open_now
    assert "broadleaf weeds: not now, its window opens on 15 Nov 2026" in open_now
    hot = [row | {"air_max_c": 34.0} for row in warm_climate(date(2026, 9, 1), date(2026, 10, 3))]
    held = ways_out(weather=hot)
    assert "not now, Hotter than 90 F" in held
    assert "foramsulfuron" not in held
    late = ways_out(seed_on=date(2026, 10, 10))
    assert "foramsulfuron" not in late
    elsewhere = ways_out(lawn=bermuda(latitude=38.0, longitude=-78.0), day=date(2026, 9, 3))
    assert "no calendar is known for this place" in elsewhere
    assert "foramsulfuron" not in elsewhere
