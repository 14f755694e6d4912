"""Ways that led, or might lead, to a wrong go: one thing wrong in a case of which all is known."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest

from tests.days.book import row
from tests.days.test_may_treat import (
    ANSWERS,
    FULL,
    GIVEN,
    ON,
    ZONE,
    answer,
    case,
    found,
    given_as,
    said,
    visited,
)
from turfmap.days.conditions import Case

GRANULES = {"formulation": "granular", "concentrations": "1 %", "rate": "100 lb/acre"}
BY_SPREADER = replace(GIVEN, method="spreader", droplet=None, nozzle_height_in=None)


def zone_as(**changed: object) -> Callable[[Case], Case]:
    return lambda one: replace(one, zone={**one.zone, **changed})


def of(**label: object) -> Callable[[Case], Case]:
    return lambda one: replace(case(**label), conditions=one.conditions)


def states(*names: str) -> Callable[[Case], Case]:
    return lambda one: replace(one, states=names)


# What is changed, and a word that must be told.
TRAPS: dict[str, tuple[Callable[[Case], Case], str]] = {
    "a liquid from a spreader": (given_as(method="spreader"), "goes out by spreader"),
    "granules from a boom": (of(**GRANULES), "goes out by boom"),
    "nobody knows whether it is granules": (
        lambda one: replace(
            of(concentrations="1 %", rate="100 lb/acre")(one), conditions=BY_SPREADER
        ),
        "granules for a spreader?",
    ),
    "the label tells no class of drops, and they are very fine": (
        lambda one: given_as(droplet="very_fine")(of(droplet=None)(one)),
        "working figure",
    ),
    "the state in full": (states("Maryland"), "not written as two letters"),
    "no rate is entered": (of(rate=None), "No rate is entered"),
    "how much it holds is not entered": (of(concentrations=None), "the product holds"),
    "a square inch is left": (zone_as(treatable_m2=6e-4), "less than a square foot"),
    "the client has a well, and none is drawn": (said("well_near", "some"), "on the map"),
    "the client has bees, and none are drawn": (said("hives_near", "some"), "on the map"),
    "the client grows food, and none is drawn": (said("edible_garden", "some"), "on the map"),
    "notice to the school years ago": (
        lambda one: given_as(school_notice_on=ON - timedelta(days=700))(zone_as(school="on")(one)),
        "over a year before",
    ),
    "a spray yesterday, of what nobody wrote down": (
        visited(date="2026-10-02", task="autumn_pre_emergent"),
        "product not known",
    ),
    "work past midnight": (
        visited(
            date="2026-10-01",
            product="Clover spray",
            start_time="23:00",
            end_time="13:00",
        ),
        "until 3 Oct 2026, 13:00",
    ),
    "no wind": (given_as(wind_mph=0.0), "less than 3 mph"),
    "gusts alone": (given_as(wind_mph=None, gust_mph=9.0), "How fast is the wind"),
    "calm early": (given_as(on=ON.replace(hour=6), wind_mph=0.0), "near sunrise"),
    "late at night": (given_as(on=ON.replace(hour=23), wind_mph=4.0), "near sunset"),
    "the grass is dormant no longer": (given_as(on=datetime(2026, 4, 15, 11)), "Green-up"),
    "a bed": (zone_as(kind="bed"), "not turf"),
    "surveyed next year": (lambda one: replace(one, surveyed_on=date(2027, 1, 1)), "Not surveyed"),
    "confirmed next year": (of(confirmed_on="2027-01-01"), "held the product against its label"),
    "a property in two states, one of them closed": (
        lambda one: replace(
            of(nitrogen_pct=10)(given_as(on=datetime(2026, 11, 20, 11))(one)),
            states=("PA", "MD"),
        ),
        "Maryland lets no lawn be fed",
    ),
    "the sum of the year is full": (
        visited(
            date="2026-05-01",
            product="Clover spray",
            amount=3.0,
            amount_unit="qt",
            area_treated_m2=4046.8564224,
        ),
        "above the 3 allowed",
    ),
}


@pytest.mark.parametrize("name", TRAPS)
def test_a_trap_never_gives_a_go(name: str) -> None:
    change, words = TRAPS[name]
    told = found(change(FULL))
    assert told["answer"] != "go"
    assert any(words in reason for reason in told["reasons"])


def test_the_limit_of_the_year_may_be_reached_and_not_passed() -> None:
    """3 lb an acre a year entered; the load brings 1 lb (2 pt of 4 lb/gal)."""

    def put_down(quarts: float) -> str:
        visit = visited(
            date="2026-05-01",
            product="Clover spray",
            amount=quarts,
            amount_unit="qt",
            area_treated_m2=4046.8564224,
        )
        return str(found(visit(FULL))["answer"])

    assert (put_down(2.0), put_down(2.001)) == ("go", "no")


def test_clocks_that_skip_an_hour_do_not_shorten_staying_off() -> None:
    """8 Mar 2026, 02:00: clocks in the United States go to 03:00 (NIST, from memory)."""
    closes = visited(date="2026-03-07", product="Clover spray", end_time="11:00")

    def at(hour: int, minute: int) -> str:
        one = closes(given_as(on=datetime(2026, 3, 8, hour, minute))(FULL))
        one = replace(one, surveyed_on=date(2026, 1, 5))
        (entry,) = (each for each in found(one)["conditions"] if each["condition"] == "entry")
        return str(entry["answer"])

    assert at(11, 30) == "wait"  # 23.5 hours by the sun
    assert at(12, 1) == "go"


def test_bees_hold_an_insecticide_and_are_only_told_of_to_a_herbicide() -> None:
    """The advice was written for insecticides (University of Georgia, Home Turf Insect Control)."""
    kills = of(active_ingredients="bifenthrin", concentrations="1 lb/gal", air_high_f=85)(FULL)

    def bloom(one: Case) -> set[str]:
        told = found(one)["conditions"]
        return {each["answer"] for each in told if each["condition"].startswith("bloom")}

    unasked = replace(kills.book, answers=tuple(a for q, a in ANSWERS.items() if "bloom" not in q))
    flowers = said("weeds_in_bloom", "in_bloom")
    assert bloom(flowers(kills)) == {"wait"}
    assert bloom(replace(kills, book=unasked)) == {"wait"}
    assert bloom(flowers(FULL)) == {"mind"}
    assert found(flowers(FULL))["answer"] == "go"
    assert any("bees" in words for words in found(flowers(FULL))["mind"])
    before = of(active_ingredients="dithiopyr", concentrations="2 lb/gal")(FULL)
    assert bloom(flowers(before)) == set()
    # Granules of an insecticide lie on the flowers too.
    grains = replace(of(active_ingredients="bifenthrin", **GRANULES)(FULL), conditions=BY_SPREADER)
    assert bloom(flowers(grains)) == {"wait"}


def test_what_the_client_told_of_and_is_drawn_holds_nothing() -> None:
    told = said("well_near", "some")(FULL)
    drawn = replace(told, zone={**ZONE, "drawn": frozenset({"well"})})
    assert found(drawn)["answer"] == "go"


def test_an_answer_of_last_week_is_too_old_for_dry_grass() -> None:
    """The table question: an answer on dry grass is good for 7 days (our own)."""
    old = answer("turf_dry", "no") | {"answered_on": date(2026, 9, 25)}
    others = tuple(each for name, each in ANSWERS.items() if name != "turf_dry")
    one = replace(FULL, book=replace(FULL.book, answers=(*others, old)))
    assert found(one)["answer"] == "wait"
    assert row("client_answer", property="A", question="turf_dry", answer="no")["zone"] is None
