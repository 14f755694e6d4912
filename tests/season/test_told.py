"""What clients say of their ground besides seed: each is held, asked or told; our own rules."""

from datetime import date

import pytest

from tests.season.lawns import answer, bermuda, judged, zone
from turfmap.foundations.definitions import table

SEPTEMBER = date(2026, 9, 24)
NONE = [answer("none", answered_on=date(2026, 9, 1))]
HERBICIDES = [row["task"] for row in table("task").rows if row["chemical"]]


@pytest.mark.parametrize("task", HERBICIDES)
def test_what_was_planted_is_found_out_before_any_herbicide(task: str) -> None:
    """Common practice, no source: no herbicide on new turf, seedlings or new plants' roots."""
    said = [*NONE, answer("some", "new_plantings", answered_on=date(2026, 9, 1))]
    found = judged(bermuda(), SEPTEMBER, answers=said)[task]
    assert any("planted or sown" in words for words in found["holds"])
    assert found["state"] != "due"


def test_a_zone_in_which_nothing_was_planted_may_be_treated() -> None:
    some = answer("some", "new_plantings", answered_on=date(2026, 9, 1))
    here = answer("none", "new_plantings", answered_on=date(2026, 9, 2), zone=bermuda()["name"])
    states = [
        judged(bermuda(), SEPTEMBER, answers=[*NONE, *said])["autumn_pre_emergent"]["state"]
        for said in ([], [some], [some, here])
    ]
    assert states == ["due", "ask", "due"]


@pytest.mark.parametrize(
    ("question", "words"),
    [("hives_near", "bees"), ("well_near", "well or a spring"), ("edible_garden", "grow food")],
)
def test_bees_wells_and_food_are_told_beside_whatever_is_sprayed(question: str, words: str) -> None:
    told = [*NONE, answer("some", question, answered_on=date(2026, 9, 1))]
    spray = judged(bermuda(), SEPTEMBER, answers=told)["autumn_pre_emergent"]
    assert any(words in line and "not on the map" in line for line in spray["reasons"])
    nothing = [*NONE, answer("none", question, answered_on=date(2026, 9, 1))]
    without = judged(bermuda(), SEPTEMBER, answers=nothing)["autumn_pre_emergent"]
    assert not any(words in line for line in without["reasons"])
    mowing = judged(bermuda(), SEPTEMBER, answers=told)["mowing_height"]
    assert not any(words in line for line in mowing["reasons"])


def test_insects_are_looked_for_with_the_bees_in_mind() -> None:
    told = [*NONE, answer("some", "hives_near", answered_on=date(2026, 8, 1))]
    look = judged(bermuda(), date(2026, 8, 10), answers=told)["insect_scouting"]
    assert any("bees" in line and "not on the map" in line for line in look["reasons"])


def test_a_look_for_dormancy_that_nobody_took_is_asked_for_and_not_called_a_no() -> None:
    """Common practice, no source: unknown asks; seen green, it is held (source H13)."""
    day = date(2026, 12, 28)
    found = {
        said: judged(bermuda(), day, answers=[*NONE, *more])["dormant_clean_up"]["state"]
        for said, more in {
            "unknown": [],
            "no": [answer("no", "fully_dormant", answered_on=day)],
        }.items()
    }
    assert found == {"unknown": "ask", "no": "held"}


def test_azaleas_are_too_late_after_mid_june_where_others_have_until_july() -> None:
    """University of Arkansas Extension (source B1): right after bloom and before mid-June."""
    bed = zone("bed", bed_type="old_wood_shrubs")
    early, late = (
        judged(bed, day)["pruning_old_wood"]["reasons"]
        for day in (date(2026, 6, 15), date(2026, 6, 16))
    )
    assert any(line.startswith("azalea: right after bloom") for line in early)
    assert any(line == "Too late this year: azalea (until 15 June)." for line in late)
    assert not any(line.startswith("azalea: right after bloom") for line in late)
    assert any("forsythia" in line and "after bloom" in line for line in late)


def test_that_nobody_asked_about_new_plants_is_told_beside_herbicides() -> None:
    def told(*said: dict[str, object]) -> bool:
        lines = judged(bermuda(), SEPTEMBER, answers=[*NONE, *said])["autumn_pre_emergent"]
        return any("Nobody has asked whether anything was planted" in s for s in lines["reasons"])

    assert told()
    assert not told(answer("none", "new_plantings", answered_on=date(2026, 9, 1)))
    assert told(answer("none", "new_plantings", answered_on=date(2026, 1, 1)))  # too old


def test_that_nobody_looked_for_flowers_is_told_beside_broadleaf_work() -> None:
    """Bees work clover and other weeds in bloom (source F13); `check` waits for the look."""
    december = date(2026, 12, 28)

    def told(*said: dict[str, object]) -> bool:
        task = judged(bermuda(), december, answers=[*NONE, *said])["broadleaf_post_emergent"]
        return any("Nobody has looked whether weeds are in bloom" in s for s in task["reasons"])

    assert told()
    assert told(answer("none", "weeds_in_bloom", answered_on=date(2026, 12, 1)))  # too old
    assert not told(answer("none", "weeds_in_bloom", answered_on=december))
