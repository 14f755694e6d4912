"""Published rules on keeping off, each in its stated scope: exclusion zone, drops, water, drift.

Sources are named at each test; figures were read unless it says otherwise. A rule that was written
for farms is good practice on a lawn and must never be shown as the law there.
"""

from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest

from tests.days.test_may_treat import FULL, GIVEN, case
from turfmap.days.conditions import Case
from turfmap.days.may_treat import may_treat
from turfmap.days.treat_figures import exclusion
from turfmap.foundations.definitions import Row, table
from turfmap.ground.setbacks import Work, reduced_share, setbacks

FOOT_M = 0.3048
SETBACKS = table("setback")
FARM_WORDS = ("agricultural", "farm", "field")


@pytest.mark.parametrize(
    ("droplet", "height_in", "method", "distance_ft"),
    [
        ("fine", 6.0, "boom", 100.0),  # finer than medium
        ("very_fine", 30.0, "handheld", 100.0),
        ("coarse", 8.0, "mist", 100.0),  # mist blowers, fog, air blast
        ("medium", 12.1, "boom", 25.0),  # medium or coarser, above 12 in
        ("ultra_coarse", 40.0, "boom", 25.0),
        ("medium", 12.0, "boom", 0.0),  # no more than 12 in
        ("coarse", 4.0, "handheld", 0.0),
        (None, 4.0, "boom", 100.0),  # not known: as the finest
        ("coarse", None, "boom", 25.0),  # not known: as the highest
    ],
)
def test_application_exclusion_zone(
    droplet: str | None, height_in: float | None, method: str, distance_ft: float
) -> None:
    """40 CFR 170.405(a), current text (a copy was read); drops as in ANSI/ASAE S572."""
    given = replace(GIVEN, droplet=droplet, nozzle_height_in=height_in, method=method)
    row = exclusion(replace(FULL, conditions=given))
    assert row["distance_ft"] == distance_ft
    assert "agricultural establishments" in row["scope"]
    assert "not the law" in row["scope"]


def test_the_exclusion_zone_is_told_on_a_lawn_and_decides_nothing() -> None:
    """It is written for agricultural establishments (40 CFR 170.405): good practice on a lawn."""
    told = may_treat(FULL)
    (words,) = (one for one in told["mind"] if "25 ft" in one)
    assert "good practice on a lawn, not the law there" in words
    assert told["answer"] == "go"


def test_atrazine_asks_for_medium_or_coarser_drops() -> None:
    """2020 interim decision, as NC State TurfFiles and a newspaper column give it (read)."""

    def finding(droplet: str) -> dict[str, Any]:
        one = case(active_ingredients="atrazine", droplet=None, name="Winter spray")
        told = may_treat(replace(one, conditions=replace(GIVEN, droplet=droplet)))
        return next(each for each in told["conditions"] if each["condition"] == "droplet_atrazine")

    assert finding("fine")["answer"] == "no"
    assert finding("medium")["answer"] == "go"
    assert finding("fine")["source"] == "H3; H4"


def test_the_nozzle_height_of_a_label_for_other_turf_is_not_the_law_on_a_lawn() -> None:
    """One 2,4-D label: no more than 4 ft above the canopy; for turf that is not residential."""
    high = may_treat(replace(FULL, conditions=replace(GIVEN, nozzle_height_in=49.0)))
    (found,) = (one for one in high["conditions"] if one["condition"] == "nozzle_height_2_4_d")
    assert found["answer"] == "no"
    assert "not the law there" in found["words"]
    at = may_treat(replace(FULL, conditions=replace(GIVEN, nozzle_height_in=48.0)))
    assert at["answer"] == "go"


def test_a_coarser_class_about_halves_the_drops_that_drift() -> None:
    """Spray application manual, module 4.2 (Australia, 2025): 20, 10 and 5 % under 150 um."""
    share = {row["droplet"]: row["drift_share_most_pct"] for row in table("droplet").rows}
    assert [share[name] for name in ("medium", "coarse", "very_coarse")] == [20, 10, 5]
    # S572 sets no sizes: a class of which no share was read has none.
    assert share["fine"] is None


@pytest.mark.parametrize(
    ("active", "category", "place", "distance_ft"),
    [
        ("atrazine", "lake", "GA", 200),  # California DPR letter quoting the label
        ("atrazine", "stream", "GA", 66),  # University of Illinois, 60 ways no. 57
        ("simazine", "stream", "GA", 66),
        ("atrazine", "well", "MN", 50),  # University of Minnesota: mix, load or apply
        ("atrazine", "sinkhole", "MN", 50),
    ],
)
def test_triazine_setbacks_come_from_farm_labels(
    active: str, category: str, place: str, distance_ft: float
) -> None:
    """EPA 735-B-93-004 (1993): products for turf alone were outside that relabelling."""
    work = Work(actives=(active,), kinds=("spray",), places=(place,))
    found = setbacks([category], SETBACKS, work, {})[category]
    assert found.distance_m / FOOT_M == pytest.approx(distance_ft)
    row = _row(category, active, place if place == "MN" else None)
    assert "agricultural" in row["scope"]


def test_the_downwind_buffer_of_atrazine_never_undercuts_what_holds_all_round() -> None:
    """2020 interim decision: 15 ft downwind of streams, in the field; 66 ft all round is wider."""
    work = Work(actives=("atrazine",), kinds=("spray",))
    downwind = [row for row in SETBACKS.rows if row["downwind_only"]]
    assert [(row["category"], row["distance_ft"]) for row in downwind] == [("stream", 15.0)]
    found = setbacks(["stream"], SETBACKS, work, {})["stream"]
    assert found.distance_m == found.kept_all_round_m == pytest.approx(66 * FOOT_M)


@pytest.mark.parametrize(
    ("place", "method", "distance_ft"),
    [("MD", None, 15), ("MD", "deflector", 10), ("FL", None, 10), ("FL", "deflector", 3)],
)
def test_fertiliser_rings(place: str, method: str | None, distance_ft: float) -> None:
    """Maryland Agriculture 8-803.5; Boynton Beach section 5 after the Florida model. Lawns."""
    rows = [
        row
        for row in SETBACKS.rows
        if row["place"] == place and row["work"] == "fertilise" and row["method"] == method
    ]
    assert {row["distance_ft"] for row in rows} == {distance_ft}
    # It is a law of that place for feeding: spraying elsewhere is not bound by it.
    only = type(SETBACKS)(**{**SETBACKS.__dict__, "rows": tuple(rows)})
    kind = rows[0]["category"]
    spray = Work(kinds=("spray",), places=(place,), method=method or "")
    assert setbacks([kind], only, spray, {}) == {}
    there = Work(kinds=("fertilise",), places=(place,), method=method or "")
    assert setbacks([kind], only, there, {})[kind].distance_m == pytest.approx(distance_ft * FOOT_M)


@pytest.mark.parametrize(
    ("place", "month", "day", "answer"),
    [
        ("MD", 11, 15, "go"),
        ("MD", 11, 16, "no"),
        ("MD", 2, 28, "no"),
        ("MD", 3, 1, "go"),
        ("NJ", 12, 24, "no"),
        ("GA", 12, 24, None),
    ],
)
def test_no_feeding_in_the_closed_season(
    place: str, month: int, day: int, answer: str | None
) -> None:
    """Before 1 March or after 15 November: Maryland 8-803.5; New Jersey 58:10A-62 (dates read)."""
    on = datetime(2026, month, day, 11, 0)
    fed = case(nitrogen_pct=20.0)
    fed = replace(fed, states=(place,), conditions=replace(GIVEN, on=on))
    found = {one["condition"]: one["answer"] for one in may_treat(fed)["conditions"]}
    closed = {"MD": "maryland_closed", "NJ": "new_jersey_closed"}
    assert found.get(closed.get(place, "maryland_closed")) == answer


def test_reductions_against_drift_add_as_percentage_points() -> None:
    """Points of the label's buffer add, up to all of it; the percentages here are invented.

    US EPA mitigation menu (30 April 2025; its percentages were not readable), as state and
    university pages on drift explain it (Minnesota Department of Agriculture; read in part).
    """
    assert reduced_share([25.0, 30.0]) == pytest.approx(0.55)  # not 1 - 0.75 * 0.7 = 0.475
    assert reduced_share([60.0, 60.0]) == 1.0
    assert reduced_share([]) == 0.0


def test_no_farm_rule_is_shown_as_the_law_of_lawns() -> None:
    """Every row written for farms says so, and no such row claims to be a law for lawns."""
    rows = [*SETBACKS.rows, *table("exclusion_zone").rows, *table("treat_condition").rows]
    farm = [row for row in rows if any(word in row["scope"] for word in FARM_WORDS)]
    assert len(farm) > 10
    for row in farm:
        assert "state law" not in row["scope"]
        assert "law there" not in row["scope"].replace("not the law there", "")


def _row(category: str, active: str, place: str | None) -> Row:
    (row,) = (
        one
        for one in SETBACKS.rows
        if (one["category"], one["active_ingredient"], one["place"]) == (category, active, place)
        and not one["downwind_only"]
    )
    return row


def test_the_case_under_test_is_a_go() -> None:
    """Without this, every "no" above could have another cause."""
    assert isinstance(FULL, Case)
    assert may_treat(FULL)["answer"] == "go"
