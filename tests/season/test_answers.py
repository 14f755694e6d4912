"""Which answer of a client counts on a day, and how long; all by our own rules."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

import pytest

from tests.season.lawns import answer, bermuda, judged, states, visit

PRE = "autumn_pre_emergent"
DAY = date(2026, 9, 24)
LAWN = bermuda()["name"]


def state(answers: Sequence[dict[str, Any]], day: date = DAY, task: str = PRE) -> str:
    return str(judged(bermuda(), day, answers=answers)[task]["state"])


def told(said: str, day: date | None, **facts: Any) -> dict[str, Any]:
    return answer(said, answered_on=day, **facts)


def test_a_stray_date_does_not_renew_an_old_answer() -> None:
    old = told("none", date(2024, 9, 1), date=date(2026, 9, 20))
    assert state([old]) == "ask"
    # A look at the grass counts from the day of the look.
    look = answer("yes", "fully_dormant", answered_on=date(2026, 1, 5), date=date(2026, 12, 27))
    december = date(2026, 12, 28)
    none = told("none", date(2026, 12, 1))
    spray = judged(bermuda(), december, answers=[none, look])["dormant_clean_up"]
    assert any("fully dormant: 5 or fewer" in words for words in spray["holds"])


def test_what_lets_work_go_on_is_asked_again_for_the_season() -> None:
    """An answer "none" counts for 150 days, a plan for 270: that it holds longer harms nobody."""
    for days, found in ((150, "due"), (151, "ask")):
        assert state([told("none", DAY - timedelta(days=days))]) == found
    assert state([told("planned", DAY - timedelta(days=200))]) == "held"


def test_a_plan_for_the_property_is_not_lifted_by_a_newer_answer_for_a_zone() -> None:
    plan = told("planned", date(2026, 8, 1), date=date(2026, 10, 10))
    of_zone = told("none", date(2026, 9, 1), zone=LAWN)
    assert state([plan, of_zone]) == "held"
    # Until the property's own answer is taken back.
    assert state([plan, of_zone, told("none", date(2026, 9, 2))]) == "due"


def test_a_plan_without_its_day_yields_to_nothing_said_wherever_it_stands_in_the_file() -> None:
    plan, none = told("planned", None), told("none", date(2026, 9, 1))
    for answers in ([plan, none], [none, plan], [plan, none, told("none", None)]):
        assert state(answers) == "held"
    # Unless the day that was planned is long past.
    long_past = plan | {"date": DAY - timedelta(days=271)}
    assert state([long_past, none]) == "due"


def test_a_question_put_and_not_answered_takes_no_plan_back() -> None:
    plan = told("planned", date(2026, 8, 1))
    assert state([plan, told("not_asked", date(2026, 9, 1))]) == "held"


def test_a_later_answer_changes_no_earlier_day() -> None:
    """The plan stands until the zone's own answer lifts it, and is not lifted before."""
    answers = [
        told("none", date(2026, 8, 20)),
        told("planned", date(2026, 8, 1), zone=LAWN),
        told("none", date(2026, 9, 26), zone=LAWN),
    ]
    days = [DAY, date(2026, 9, 27)]
    assert states(bermuda(), days, answers=answers)[PRE] == ["held", "due"]
    assert states(bermuda(), days[:1], answers=answers)[PRE] == ["held"]


def test_a_sowing_told_for_a_day_to_come_is_a_plan_until_then() -> None:
    ahead = told("done", date(2026, 9, 1), date=date(2026, 10, 10))
    task = judged(bermuda(), DAY, answers=[ahead])[PRE]
    assert task["state"] == "held"
    assert "planned, 10 Oct 2026" in task["holds"][0]
    assert "feeding_overseeded_ryegrass" not in judged(bermuda(), DAY, answers=[ahead])
    after = judged(bermuda(), date(2026, 10, 12), answers=[ahead])
    assert "feeding_overseeded_ryegrass" in after
    # Foramsulfuron leaves two weeks before seed (label, H8): on 1 Oct there are nine days.
    assert state([ahead], date(2026, 10, 1), "post_emergent_first_pass") == "held"


def test_a_sowing_told_stands_beside_the_plan_for_the_next() -> None:
    """Ryegrass that is up is not forgotten when the client plans for another lawn's sake."""
    sown = told("done", date(2026, 9, 12), date=date(2026, 9, 10), zone=LAWN)
    plan = told("planned", date(2026, 9, 25), date=date(2026, 11, 20))
    task = judged(bermuda(), date(2026, 10, 10), answers=[sown, plan])["post_emergent_first_pass"]
    assert task["state"] == "held"
    assert any("ryegrass" in words for words in task["holds"])


@pytest.mark.parametrize("said", ["none", "planned"])
def test_a_visit_on_record_is_taken_back_by_no_answer(said: str) -> None:
    sown = [visit("overseeding", date(2026, 9, 12))]
    answers = [told(said, date(2026, 10, 1))]
    found = judged(bermuda(), date(2026, 10, 10), answers=answers, visits=sown)
    assert found["post_emergent_first_pass"]["state"] == "held"


def test_of_two_answers_on_one_day_the_stricter_counts() -> None:
    """In whatever order the file has them."""
    ground = bermuda(irrigated=False)
    look = [answer(said, "turf_dry", answered_on=date(2026, 10, 9)) for said in ("yes", "no")]
    none = told("none", date(2026, 9, 1))
    for looks in (look, look[::-1]):
        found = judged(ground, date(2026, 10, 10), answers=[none, *looks])
        assert found["post_emergent_first_pass"]["state"] == "held"


def test_what_an_undated_answer_permits_is_told_to_be_made_sure_of() -> None:
    said = {
        told_on: " ".join(judged(bermuda(), DAY, answers=[told("none", told_on)])[PRE]["reasons"])
        for told_on in (None, date(2026, 9, 1))
    }
    assert "make sure that it is meant for this season" in said[None]
    assert "make sure" not in said[date(2026, 9, 1)]
