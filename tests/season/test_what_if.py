"""Things supposed: they change the answer and nothing else, and are told back in words."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from tests.season.lawns import answer, bermuda, columns, visit, warm_climate
from turfmap.foundations.errors import InputFaultsError
from turfmap.season.due import due
from turfmap.season.rules import shipped_rules
from turfmap.season.weather import weather_until
from turfmap.season.what_if import RAIN_DAYS, Known, supposing, with_rain

AS_OF = date(2026, 9, 24)
OCTOBER = date(2026, 10, 10)
RAINY = weather_until(warm_climate(date(2026, 8, 1), OCTOBER), as_of=OCTOBER)


def known(**more: Any) -> Known:
    """Return a lawn that nobody waters, on which nothing is to be sown."""
    ground = columns([bermuda(irrigated=False)])
    return replace(Known(ground, [answer("none")], [], [RAINY]), **more)


def state(task: str, as_of: date, *supposed: tuple[str, str], **more: Any) -> str:
    given, _ = supposing(supposed, known(**more), as_of=as_of, rules=shipped_rules())
    found = due(
        given.zones,
        answers=given.answers,
        visits=given.visits,
        weather=given.weather,
        as_of=as_of,
    )
    states = {one["task"]: one["state"] for one in found["zones"][0]["tasks"]}
    return str(states[task])


def test_seed_supposed_holds_the_pre_emergent_whatever_was_answered_today() -> None:
    assert state("autumn_pre_emergent", AS_OF) == "due"
    assert state("autumn_pre_emergent", AS_OF, ("overseed", "2026-10-10")) == "held"
    today = {"answers": [answer("none", zone="Zone", answered_on=AS_OF)]}
    assert state("autumn_pre_emergent", AS_OF, ("overseed", "2026-10-10"), **today) == "held"
    assert state("autumn_pre_emergent", AS_OF, ("overseed", "not_asked")) == "ask"


def test_no_rain_supposed_is_a_drought_and_rain_ends_one() -> None:
    assert state("post_emergent_first_pass", OCTOBER) == "due"
    assert state("post_emergent_first_pass", OCTOBER, ("rain", "0")) == "held"
    nothing = {"weather": [weather_until([], as_of=OCTOBER)]}
    assert state("post_emergent_first_pass", OCTOBER, **nothing) == "ask"
    assert state("post_emergent_first_pass", OCTOBER, ("rain", "0"), **nothing) == "held"
    # How hot it was is still not known.
    assert state("post_emergent_first_pass", OCTOBER, ("rain", "1.2"), **nothing) == "ask"
    assert state("post_emergent_first_pass", OCTOBER, ("rain", "1.2")) == "due"


def test_rain_supposed_counts_in_a_typical_year_too_and_its_warmth_does_not() -> None:
    typical = weather_until(warm_climate(date(2026, 8, 1), OCTOBER), as_of=OCTOBER, is_typical=True)
    given = {"weather": [typical]}
    assert state("post_emergent_first_pass", OCTOBER, ("rain", "0"), **given) == "held"
    assert state("post_emergent_first_pass", OCTOBER, ("rain", "2"), **given) == "ask"


def test_facts_answers_and_visits_can_be_supposed() -> None:
    first = "post_emergent_first_pass"
    assert state(first, OCTOBER, ("species", "centipede")) == "held"
    assert state(first, OCTOBER, ("rain", "0"), ("irrigated", "yes")) == "due"
    assert state(first, OCTOBER, ("turf_dry", "yes")) == "held"
    assert state(first, OCTOBER, (first, "2026-10-05")) == "done"
    second, later = "post_emergent_second_pass", date(2026, 10, 27)
    record = [weather_until(warm_climate(date(2026, 8, 1), later), as_of=later)]
    for done, found in (("2026-10-06", "ask"), ("2026-10-06 thiencarbazone", "due")):
        supposed = [(first, done), ("irrigated", "yes")]
        assert state(second, later, *supposed, weather=record) == found


def test_what_is_known_stays_as_it_is() -> None:
    before = known(visits=[visit("aeration", AS_OF)])
    given, words = supposing(
        [("overseed", "2026-10-10"), ("rain", "0"), ("irrigated", "yes")],
        before,
        as_of=AS_OF,
        rules=shipped_rules(),
    )
    assert before.answers == [answer("none")]
    assert before.zones["irrigated"] == [False]
    assert (RAINY.rain_mm == 3.0).all()
    assert given.visits == before.visits
    assert words == [
        "overseeding is answered planned for 10 Oct 2026",
        "no rain fell in the 14 days up to 24 Sep 2026",
        "irrigated is yes",
    ]


def test_rain_supposed_lies_on_its_days_alone() -> None:
    """The record ends 5 days before: those days come to be known of rain, and of nothing else."""
    last = OCTOBER + timedelta(days=5)
    wet = with_rain(RAINY, last, RAIN_DAYS, 2.0)
    assert wet.last_day == last
    assert (wet.rain_mm[-RAIN_DAYS:] == 2.0).all()
    assert (wet.rain_mm[:-RAIN_DAYS] == 3.0).all()
    assert (wet.air_min_c[: RAINY.days] == RAINY.air_min_c).all()
    assert not (wet.air_min_c[RAINY.days :] == wet.air_min_c[RAINY.days :]).any()


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("snow", "1", "nothing is called 'snow'"),
        ("rain", "much", "could not convert"),
        ("rain", "-1", "not from 0"),
        ("rain", "nan", "not from 0"),
        ("overseed", "soon", "Invalid isoformat"),
        ("species", "moss", "not one of"),
        ("turf_dry", "perhaps", "not an answer"),
    ],
)
def test_what_is_not_understood_is_a_fault_with_a_way_to_write_it(
    name: str, value: str, said: str
) -> None:
    with pytest.raises(InputFaultsError, match=said):
        supposing([(name, value)], known(), as_of=AS_OF, rules=shipped_rules())
