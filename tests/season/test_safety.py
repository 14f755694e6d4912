"""What must never be read as leave to spray; all by our own rules, the figures from the tables."""

from datetime import date

from tests.season.lawns import answer, bermuda, judged, visit

DECEMBER = date(2026, 12, 1)


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
