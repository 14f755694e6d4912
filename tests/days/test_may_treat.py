"""Go only where everything is known and kept: each input taken away, each limit broken by itself.

Wind, air and rain limits here are the label's, entered in an invented product.
"""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.days.book import product, row
from turfmap.days.conditions import Case, Conditions, SeasonHold
from turfmap.days.may_treat import BASES, may_treat, tables
from turfmap.days.mixes import Book
from turfmap.foundations.definitions import table

ON = datetime(2026, 10, 3, 11, 0)
RANK = ("go", "wait", "no")

LABEL = {
    "name": "Clover spray",
    "active_ingredients": "2,4-D",
    "concentrations": "4 lb/gal",
    "rate": "2 pt/acre",
    "annual_max": "3 lb/acre",
    "wind_low_mph": 3,
    "wind_high_mph": 10,
    "air_low_f": 50,
    "air_high_f": 85,
    "droplet": "medium",
    "reentry_h": 24,
    "rainfast_h": 4,
    "reseed_wk": 4,
    "retreat_d": 30,
    "confirmed_on": "2026-03-01",
}
GIVEN = Conditions(
    on=ON,
    wind_mph=6.0,
    gust_mph=9.0,
    wind_from_deg=315.0,
    droplet="coarse",
    air_f=71.0,
    nozzle_height_in=20.0,
    dry_h=6.0,
    method="boom",
)
ZONE = {
    "property": "Alder",
    "name": "Front",
    "kind": "turf",
    "species": "bermuda",
    "treatable_m2": 400.0,
    "longitude": -84.0,
    "latitude": 33.0,
    "lost_words": "all of it",
    "school": "",
    "drawn": frozenset(),
}


def answer(question: str, said: str) -> dict[str, Any]:
    return row(
        "client_answer",
        property="Alder",
        question=question,
        answer=said,
        answered_on="2026-10-02",
    )


ANSWERS = {
    name: answer(name, said)
    for name, said in {
        "overseeding": "none",
        "turf_dry": "no",
        "weeds_in_bloom": "none",
        "pets": "none",
    }.items()
}


def case(**label: object) -> Case:
    """Return a case of which everything is known, with some columns of the label changed."""
    one = product(**{**LABEL, **label})
    book = Book({one.name: one}, answers=tuple(ANSWERS.values()))
    return Case(GIVEN, ZONE, one, book, tables({}), states=("GA",), surveyed_on=date(2026, 1, 5))


FULL = case()


def found(one: Case) -> dict[str, Any]:
    return may_treat(one)


def given_less(name: str) -> Callable[[Case], Case]:
    return lambda one: replace(one, conditions=replace(one.conditions, **{name: None}))


def answers_less(name: str) -> Callable[[Case], Case]:
    def less(one: Case) -> Case:
        kept = tuple(said for said in one.book.answers if said["question"] != name)
        return replace(one, book=replace(one.book, answers=kept))

    return less


def label_less(name: str) -> Callable[[Case], Case]:
    def less(one: Case) -> Case:
        bare = replace(one.product, row={**one.product.row, name: None})
        return replace(one, product=bare)

    return less


# Everything without which nobody may go.
TAKEN_AWAY: dict[str, Callable[[Case], Case]] = {
    **{
        name: given_less(name)
        for name in ("on", "wind_mph", "droplet", "air_f", "nozzle_height_in", "dry_h")
    },
    **{name: answers_less(name) for name in ("overseeding", "turf_dry")},
    "confirmed_on": label_less("confirmed_on"),
    "in_book": lambda one: replace(one, in_book=False),
    "states": lambda one: replace(one, states=()),
    "surveyed_on": lambda one: replace(one, surveyed_on=None),
    "species": lambda one: replace(one, zone={**one.zone, "species": None}),
    "ground": lambda one: replace(one, zone={**one.zone, "treatable_m2": 0.0}),
}


def test_where_everything_is_known_and_kept_it_is_go() -> None:
    told = found(FULL)
    assert told["answer"] == "go"
    assert told["asked"] == []
    assert told["sources"]
    assert any("6 mph" in words for words in told["reasons"])


@pytest.mark.parametrize("name", TAKEN_AWAY)
def test_without_one_input_it_is_never_go_and_it_is_said(name: str) -> None:
    told = found(TAKEN_AWAY[name](FULL))
    assert told["answer"] == ("no" if name == "ground" else "wait")
    assert told["would_change"]
    if name != "ground":
        assert told["asked"]


@settings(max_examples=60, deadline=None)
@given(st.sets(st.sampled_from(sorted(TAKEN_AWAY)), min_size=1))
def test_without_several_inputs_it_is_never_go(names: set[str]) -> None:
    one = FULL
    for name in sorted(names):
        one = TAKEN_AWAY[name](one)
    assert found(one)["answer"] != "go"


def given_as(**changed: object) -> Callable[[Case], Case]:
    return lambda one: replace(one, conditions=replace(one.conditions, **changed))  # type: ignore[arg-type]


def said(question: str, words: str) -> Callable[[Case], Case]:
    def with_it(one: Case) -> Case:
        newer = answer(question, words) | {"answered_on": date(2026, 10, 3)}
        return replace(one, book=replace(one.book, answers=(*one.book.answers, newer)))

    return with_it


def visited(**visit: object) -> Callable[[Case], Case]:
    def with_it(one: Case) -> Case:
        about = {"property": "Alder", "zone": "Front", "task": "broadleaf_post_emergent", **visit}
        return replace(one, book=replace(one.book, visits=(row("visit", **about),)))

    return with_it


# Each broken by itself: what it makes of the answer, and a word that must be told.
BROKEN: dict[str, tuple[Callable[[Case], Case], str, str]] = {
    "windy": (given_as(wind_mph=10.5), "wait", "10.5 mph"),
    "calm": (given_as(wind_mph=2.0), "wait", "less than 3 mph"),
    "gusts": (given_as(gust_mph=14.0), "wait", "14 mph"),
    "hot": (given_as(air_f=86.0), "wait", "hotter than 85 F"),
    "cold": (given_as(air_f=49.0), "wait", "colder than 50 F"),
    "rain": (given_as(dry_h=3.0), "wait", "4 h must stay dry"),
    "fine drops": (given_as(droplet="fine"), "no", "finer than medium"),
    "high nozzles": (given_as(nozzle_height_in=49.0), "no", "48 in"),
    "inversion": (given_as(inversion="suspected"), "wait", "inversion is suspected"),
    "dawn": (given_as(on=ON.replace(hour=7), wind_mph=4.0), "wait", "near sunrise"),
    "night": (given_as(on=ON.replace(hour=22), wind_mph=4.0), "wait", "near sunset"),
    "dry": (said("turf_dry", "yes"), "wait", "short of water"),
    "seed": (
        lambda one: replace(
            one,
            book=replace(
                one.book,
                answers=(
                    *(each for each in one.book.answers if each["question"] != "overseeding"),
                    answer("overseeding", "planned") | {"date": date(2026, 10, 10)},
                ),
            ),
        ),
        "no",
        "4 weeks must lie between",
    ),
    "grass": (
        lambda one: replace(
            one,
            product=case(active_ingredients="foramsulfuron").product,
            zone={**one.zone, "species": "centipede"},
        ),
        "no",
        "not for centipedegrass",
    ),
    "bed": (lambda one: replace(one, zone={**one.zone, "kind": "bed"}), "no", "not turf"),
    "too soon": (
        visited(date="2026-09-20", product="Clover spray"),
        "wait",
        "13 days from the load",
    ),
    "season": (
        lambda one: replace(one, season=(SeasonHold("Too dry for this.", is_asked=False),)),
        "wait",
        "Too dry for this.",
    ),
    "season asks": (
        lambda one: replace(one, season=(SeasonHold("Was it sown?", is_asked=True),)),
        "wait",
        "Was it sown?",
    ),
    "entry": (
        visited(date="2026-10-02", product="Clover spray", end_time="14:00"),
        "wait",
        "until 3 Oct 2026, 14:00",
    ),
    "green-up": (
        lambda one: replace(
            replace(one, surveyed_on=date(2026, 1, 5)),
            conditions=replace(one.conditions, on=datetime(2026, 4, 2, 11, 0)),
        ),
        "wait",
        "Green-up",
    ),
    "school": (
        lambda one: replace(one, zone={**one.zone, "school": "on"}),
        "wait",
        "was the school told?",
    ),
}


@pytest.mark.parametrize("name", BROKEN)
def test_one_limit_broken_by_itself_is_told(name: str) -> None:
    change, answer_is, words = BROKEN[name]
    told = found(change(FULL))
    assert told["answer"] == answer_is
    assert any(words in reason for reason in told["reasons"])


def test_the_sum_of_the_year_is_no_and_an_amount_not_known_is_asked() -> None:
    """3 lb an acre a year entered: 2.5 lb in May and 1 lb now are too much."""
    known = {"amount": 2.5, "amount_unit": "qt", "area_treated_m2": 4046.8564224}
    over = found(visited(date="2026-05-01", product="Clover spray", **known)(FULL))
    assert over["answer"] == "no"
    assert any("above the 3 allowed" in words for words in over["reasons"])
    unknown = found(visited(date="2026-05-01", product="Clover spray")(FULL))
    assert unknown["answer"] == "wait"
    assert any("not known" in words for words in unknown["asked"])


def test_without_the_label_the_working_figure_stands_in_and_says_so() -> None:
    """2,4-D: not above 90 F (turf label, read in part); wind figures are common practice."""
    bare = case(wind_high_mph=None, air_high_f=None)
    hot = found(replace(bare, conditions=replace(GIVEN, air_f=90.5)))
    (reason,) = (words for words in hot["reasons"] if "90.5 F" in words)
    assert "unverified: confirm on the label" in reason
    windy = found(replace(bare, conditions=replace(GIVEN, wind_mph=10.5)))
    assert any("working figure" in words for words in windy["reasons"])


def test_somebody_who_looked_settles_whether_air_lies_in_layers() -> None:
    dawn = replace(GIVEN, on=ON.replace(hour=7), wind_mph=4.0)
    assert found(replace(FULL, conditions=dawn))["asked"]
    looked = found(replace(FULL, conditions=replace(dawn, inversion="none")))
    assert looked["answer"] == "go"
    assert any("Somebody on the spot looked" in words for words in looked["reasons"])


def test_granules_from_a_spreader_are_not_asked_for_drops() -> None:
    spread = replace(FULL, conditions=Conditions(on=ON, wind_mph=6.0, air_f=71.0, dry_h=6.0))
    assert found(spread)["answer"] == "wait"
    granules = case(formulation="granular", concentrations="1 %", rate="100 lb/acre").product
    spread = replace(spread, product=granules)
    names = {one["condition"] for one in found(spread)["conditions"]}
    assert not names & {"droplet_label", "nozzle_height_2_4_d", "layered_air", "exclusion"}
    assert found(spread)["answer"] == "go"


def test_notice_to_a_school_counts_the_hours_of_its_state() -> None:
    """North Carolina: 72 h, public schools (NC State University school IPM page, read)."""
    school = replace(FULL, zone={**ZONE, "school": "on"}, states=("NC",))

    def told_before(hours: float) -> dict[str, Any]:
        told = replace(GIVEN, school_notice_on=ON - timedelta(hours=hours))
        return found(replace(school, conditions=told))

    assert told_before(73)["answer"] == "go"
    late = told_before(71)
    assert late["answer"] == "wait"
    assert any("72 h" in words for words in late["reasons"])
    # A state that was not looked up: going by the notice alone, and saying so.
    other = replace(school, states=("GA",))
    given_notice = replace(GIVEN, school_notice_on=ON - timedelta(hours=1))
    assert found(other)["answer"] == "wait"
    passed = found(replace(other, conditions=given_notice))
    assert any("no rule of this state is known" in words for words in passed["reasons"])


@settings(max_examples=40, deadline=None)
@given(
    wind=st.floats(3, 30),
    more=st.floats(0, 30),
    air=st.floats(50, 110),
    dry=st.floats(0, 24),
)
def test_worse_weather_never_gives_a_better_answer(
    wind: float, more: float, air: float, dry: float
) -> None:
    def rank(conditions: Conditions) -> int:
        return RANK.index(found(replace(FULL, conditions=conditions))["answer"])

    before = replace(GIVEN, wind_mph=wind, air_f=air, dry_h=dry)
    worse = replace(before, wind_mph=wind + more, air_f=air + more, dry_h=max(dry - more, 0.0))
    assert rank(worse) >= rank(before)


def test_every_basis_of_the_table_has_a_rule_and_every_rule_a_row() -> None:
    rows = table("treat_condition").rows
    assert {one["basis"] for one in rows} == set(BASES)
    # A condition that only tells may not hide one that waits.
    assert all(one["would_change"] for one in rows if one["effect"] != "mind")
