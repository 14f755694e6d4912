"""Which ground a tank may touch: never what is not known, never seed before the wait is over."""

from datetime import date

import pytest

from tests.days.book import product, row
from turfmap.days.answers import answers_for
from turfmap.days.bearing import bearing
from turfmap.days.knowledge import shipped
from turfmap.foundations.definitions import Row
from turfmap.season.answered import Answer

DAY = date(2026, 9, 1)
ZONE = {"property": "Alder", "name": "Front", "kind": "turf", "species": "bermuda"}
NO_SEED = {"overseeding": Answer("none")}


@pytest.mark.parametrize(
    ("active", "species", "words"),
    [
        ("fluazifop", "bermuda", "not for bermudagrass"),
        ("atrazine", "tall_fescue", "not for tall fescue"),
        (
            "dithiopyr",
            "seashore_paspalum",
            "whether seashore paspalum bears dithiopyr is not known",
        ),
        ("dithiopyr", None, "its grass is not known"),
        ("atrazine", "bermuda", "only while fully dormant"),
    ],
)
def test_ground_that_is_never_touched(active: str, species: str | None, words: str) -> None:
    one = product(active_ingredients=active)
    verdict = bearing(one, ZONE | {"species": species}, NO_SEED, DAY, shipped())
    assert words in " ".join(verdict.against)


def test_care_is_said_and_one_bad_active_keeps_all_out() -> None:
    careful = bearing(
        product(active_ingredients="2,4-D"),
        ZONE | {"species": "centipede"},
        NO_SEED,
        DAY,
        shipped(),
    )
    assert not careful.against
    assert "with caution" in careful.cautions[0]
    mixed = product(active_ingredients="dithiopyr; fluazifop", concentrations="2 lb/gal; 1 lb/gal")
    assert bearing(mixed, ZONE, NO_SEED, DAY, shipped()).against
    assert bearing(product(), ZONE | {"kind": "bed"}, NO_SEED, DAY, shipped()).against


def test_dormant_only_while_it_was_seen() -> None:
    one = product(active_ingredients="atrazine")
    seen = NO_SEED | {"fully_dormant": Answer("yes")}
    assert not bearing(one, ZONE, seen, DAY, shipped()).against


def test_seed_and_the_wait_before_it() -> None:
    """The table's wait of dithiopyr is 13 weeks; a label in the book may say otherwise."""
    soon = {"overseeding": Answer("planned", date(2026, 9, 20))}
    late = {"overseeding": Answer("planned", date(2027, 9, 20))}
    assert "13 weeks" in bearing(product(), ZONE, soon, DAY, shipped()).against[0]
    assert not bearing(product(), ZONE, late, DAY, shipped()).against
    assert bearing(product(), ZONE, late, None, shipped()).against
    assert not bearing(product(reseed_wk=2), ZONE, soon, DAY, shipped()).against
    sown = {"overseeding": Answer("done", DAY)}
    assert "perennial ryegrass" not in bearing(product(), ZONE, NO_SEED, DAY, shipped()).against
    assert "overseeded ryegrass" in bearing(product(), ZONE, sown, DAY, shipped()).against[0]
    assert "nobody has asked" in bearing(product(), ZONE, {}, DAY, shipped()).cautions[0]


def answered(answer: str, **more: object) -> Row:
    return row("client_answer", property="Alder", question="overseeding", answer=answer, **more)


def test_a_load_reads_answers_as_the_season_does() -> None:
    """What is said of one zone does not lift the plan of the property; a later answer for it does.

    Common practice, no source: seed that was planned is there until the client takes it back.
    """
    rows = [
        answered("planned", answered_on="2026-05-01", date="2026-10-01"),
        answered("none", answered_on="2026-08-01", zone="Front"),
    ]
    visit = row("visit", property="Alder", task="overseeding", date="2026-08-20")
    for zone in (ZONE, ZONE | {"name": "Back"}):
        assert answers_for(zone, rows, [], DAY)["overseeding"].answer == "planned"
    withdrawn = [*rows, answered("none", answered_on="2026-08-02")]
    assert answers_for(ZONE, withdrawn, [], DAY)["overseeding"].answer == "none"
    assert answers_for(ZONE, withdrawn, [visit], DAY)["overseeding"].answer == "done"
    # A day that somebody wrote beside an old "none" makes it no younger.
    dated = [answered("none", answered_on="2024-08-01", date=DAY.isoformat())]
    assert answers_for(ZONE, dated, [], DAY)["overseeding"].answer == "not_asked"
    old = [answered("none", answered_on="2024-08-01")]
    assert answers_for(ZONE, old, [], DAY)["overseeding"].answer == "not_asked"
