"""The year at about 33.5 degrees north on a warm-season climate.

Common practice, no source: what practitioners there expect, in dates. The climate is smooth and
from memory (`tests.season.lawns.warm_climate`). Each date is looked for with that weather and
without any.
"""

from datetime import date, timedelta
from functools import cache
from typing import Any

import pytest

from tests.season.lawns import answer, bermuda, judged, states, visit, warm_climate, zone

NONE = [answer("none")]
WITH_AND_WITHOUT_WEATHER = pytest.mark.parametrize("measured", [True, False])
FIRST, LAST = date(2026, 1, 1), date(2027, 12, 31)
DAYS = [FIRST + timedelta(days=number) for number in range((LAST - FIRST).days + 1)]


@cache
def weather() -> list[dict[str, Any]]:
    return warm_climate(FIRST - timedelta(days=400), LAST)


def due_days(
    task: str, ground: dict[str, Any], year: int, *, measured: bool, **known: Any
) -> list[date]:
    """Return the days of a year on which a task is due."""
    given = {"answers": NONE, "weather": weather() if measured else [], **known}
    found = states(ground, DAYS, **given)[task]
    return [
        day for day, state in zip(DAYS, found, strict=True) if state == "due" and day.year == year
    ]


def first_due(
    task: str, ground: dict[str, Any], year: int, *, measured: bool, **known: Any
) -> tuple[date, date]:
    """Return the first and last day of a year on which a task is due."""
    days = due_days(task, ground, year, measured=measured, **known)
    return days[0], days[-1]


@WITH_AND_WITHOUT_WEATHER
def test_autumn_pre_emergent_from_mid_september_to_early_october(*, measured: bool) -> None:
    first, last = first_due("autumn_pre_emergent", bermuda(), 2026, measured=measured)
    assert date(2026, 9, 10) <= first <= date(2026, 9, 21)
    assert date(2026, 9, 26) <= last <= date(2026, 10, 8)


def test_a_cold_autumn_closes_it_before_the_nights_reach_the_low_fifties() -> None:
    """A week colder by 8 degC from 24 September: the window shuts days before its usual end."""
    cold = [
        row | {"air_min_c": row["air_min_c"] - 8.0} if row["date"] >= date(2026, 9, 24) else row
        for row in weather()
    ]
    usual = due_days("autumn_pre_emergent", bermuda(), 2026, measured=True)
    early = due_days("autumn_pre_emergent", bermuda(), 2026, measured=True, weather=cold)
    assert early[0] == usual[0]
    assert early[-1] < usual[-1]


@WITH_AND_WITHOUT_WEATHER
def test_spring_pre_emergent_about_february(*, measured: bool) -> None:
    first, last = first_due("spring_pre_emergent", bermuda(), 2027, measured=measured)
    assert date(2027, 2, 1) <= first <= date(2027, 2, 20)
    assert last <= date(2027, 3, 16)


@WITH_AND_WITHOUT_WEATHER
def test_its_second_half_six_to_eight_weeks_later(*, measured: bool) -> None:
    put_down = date(2027, 2, 20)
    first, last = first_due(
        "spring_pre_emergent_second",
        bermuda(),
        2027,
        measured=measured,
        visits=[visit("spring_pre_emergent", put_down, "prodiamine", 0.5)],
    )
    assert (first - put_down).days == 6 * 7
    assert (last - put_down).days == 8 * 7


@WITH_AND_WITHOUT_WEATHER
def test_two_passes_three_weeks_apart_in_october_and_november(*, measured: bool) -> None:
    first, last = first_due("post_emergent_first_pass", bermuda(), 2026, measured=measured)
    assert date(2026, 9, 25) <= first <= date(2026, 10, 5)
    assert last <= date(2026, 11, 10)
    done = [visit("post_emergent_first_pass", date(2026, 10, 7), "thiencarbazone", 0.1)]
    again, end = first_due(
        "post_emergent_second_pass", bermuda(), 2026, measured=measured, visits=done
    )
    assert 20 <= (again - date(2026, 10, 7)).days <= 25
    assert end <= date(2026, 11, 30)


@WITH_AND_WITHOUT_WEATHER
def test_summer_annuals_are_left_to_the_frost(*, measured: bool) -> None:
    days = due_days("summer_annual_post_emergent", bermuda(), 2026, measured=measured)
    assert not [day for day in days if day >= date(2026, 9, 15)]
    task = judged(bermuda(), date(2026, 10, 5), answers=NONE)["summer_annual_post_emergent"]
    assert task["state"] == "held"
    assert any("do nothing" in words for words in task["holds"])


@WITH_AND_WITHOUT_WEATHER
def test_irrigation_on_about_may_and_off_before_the_first_hard_freeze(*, measured: bool) -> None:
    first, last = first_due("irrigation_on", bermuda(), 2027, measured=measured)
    assert (first.month, last.month) == (5, 5)
    first, last = first_due("irrigation_off", bermuda(), 2026, measured=measured)
    assert date(2026, 10, 25) <= first
    assert last <= date(2026, 11, 30)


@WITH_AND_WITHOUT_WEATHER
def test_last_cut_in_november(*, measured: bool) -> None:
    first, last = first_due("last_cut", bermuda(), 2026, measured=measured)
    assert date(2026, 10, 25) <= first <= date(2026, 11, 20)
    assert last <= date(2026, 12, 5)
    lines = judged(bermuda(), date(2026, 11, 20), answers=NONE)["last_cut"]["reasons"]
    assert any("Lower by about 0.5 in" in line for line in lines)


@WITH_AND_WITHOUT_WEATHER
def test_shrubs_planted_about_november(*, measured: bool) -> None:
    bed = zone("bed", bed_type="new_wood_shrubs")
    first, last = first_due("planting_shrubs", bed, 2026, measured=measured)
    assert date(2026, 10, 20) <= first <= date(2026, 11, 5)
    assert last <= date(2026, 12, 15)


@WITH_AND_WITHOUT_WEATHER
def test_panicle_type_hydrangea_pruned_about_february(*, measured: bool) -> None:
    bed = zone("bed", bed_type="new_wood_shrubs")
    first, last = first_due("pruning_new_wood", bed, 2027, measured=measured)
    assert date(2027, 1, 25) <= first <= date(2027, 2, 15)
    assert last <= date(2027, 3, 15)
    lines = judged(bed, date(2027, 2, 10))["pruning_new_wood"]["reasons"]
    assert any("panicle hydrangea" in line and "February" in line for line in lines)


@WITH_AND_WITHOUT_WEATHER
def test_spring_bloomers_pruned_after_bloom_and_not_after_the_fourth_of_july(
    *, measured: bool
) -> None:
    bed = zone("bed", bed_type="old_wood_shrubs")
    first, last = first_due("pruning_old_wood", bed, 2027, measured=measured)
    assert first >= date(2027, 4, 1)
    assert date(2027, 7, 2) <= last <= date(2027, 7, 4)


@pytest.mark.parametrize("task", ["pruning_old_wood", "pruning_new_wood", "pruning_foliage"])
def test_nothing_is_pruned_into_tender_growth(task: str) -> None:
    bed = {"pruning_old_wood": "old_wood_shrubs", "pruning_new_wood": "new_wood_shrubs"}
    ground = zone("bed", bed_type=bed.get(task, "foliage_shrubs"))
    days = due_days(task, ground, 2026, measured=True)
    assert days
    assert not [day for day in days if date(2026, 8, 15) <= day <= date(2026, 11, 30)]


@pytest.mark.parametrize(
    ("choice", "first", "last"),
    [
        ("before_freeze", date(2026, 11, 1), date(2026, 11, 20)),
        ("after_freeze", date(2026, 11, 6), date(2026, 12, 31)),
        ("late_winter", date(2026, 2, 15), date(2026, 3, 15)),
    ],
)
def test_tender_tops_come_off_when_the_client_chose(choice: str, first: date, last: date) -> None:
    bed = zone("bed", bed_type="tender_perennials")
    answers = [answer(choice, "cut_back")]
    days = due_days("bed_cut_back", bed, 2026, measured=False, answers=answers)
    assert first <= days[0] <= days[-1] <= last


def test_straw_follows_the_cutting_back() -> None:
    bed = zone("bed", bed_type="tender_perennials")
    done = [visit("bed_cut_back", date(2026, 11, 4))]
    days = due_days("bed_mulch", bed, 2026, measured=False, visits=done)
    assert date(2026, 11, 5) in days
    without = due_days("bed_mulch", bed, 2026, measured=False)
    assert date(2026, 11, 5) not in without


@WITH_AND_WITHOUT_WEATHER
def test_sown_ryegrass_fed_about_february(*, measured: bool) -> None:
    sown = [answer("done", date=date(2026, 10, 20), answered_on=date(2026, 10, 20))]
    first, last = first_due(
        "feeding_overseeded_ryegrass", bermuda(), 2027, measured=measured, answers=sown
    )
    assert (first.month, last.month) == (2, 2)


@WITH_AND_WITHOUT_WEATHER
def test_no_late_nitrogen_on_warm_season_turf(*, measured: bool) -> None:
    first, last = first_due("feeding_warm_season", bermuda(), 2026, measured=measured)
    assert first >= date(2026, 4, 10)
    assert last <= date(2026, 8, 15)
    known = {"weather": weather() if measured else []}
    autumn = judged(bermuda(), date(2026, 9, 24), answers=NONE, **known)["feeding_warm_season"]
    assert any("No late nitrogen" in words for words in autumn["holds"])


@WITH_AND_WITHOUT_WEATHER
def test_nothing_pre_emergent_all_year_on_ground_to_be_overseeded(*, measured: bool) -> None:
    """Told anew every half year, so that the answer never grows too old to count."""
    planned = [
        answer("planned", date=date(2026, 10, 20), answered_on=FIRST + timedelta(days=180 * n))
        for n in range(4)
    ]
    for task in ("autumn_pre_emergent", "spring_pre_emergent", "spring_pre_emergent_second"):
        known = {"weather": weather() if measured else [], "answers": planned}
        found = set(states(bermuda(), DAYS, **known)[task])
        assert "held" in found
        assert not found & {"due", "ask"}


@pytest.mark.parametrize(
    ("task", "ground", "first", "last"),
    [
        ("mowing_height", bermuda(), (4, 15), (9, 30)),
        ("aeration", bermuda(), (5, 25), (8, 15)),
        ("dethatching", bermuda(), (5, 25), (8, 1)),
        ("irrigation_audit", bermuda(), (5, 15), (6, 30)),
        ("insect_scouting", bermuda(), (7, 15), (9, 30)),
        ("disease_scouting", bermuda(), (4, 1), (11, 30)),
        ("disease_scouting", bermuda(species="tall_fescue"), (5, 15), (9, 10)),
        ("calibration", bermuda(), (1, 15), (9, 9)),
        ("soil_test", bermuda(), (1, 5), (2, 15)),
        ("spring_low_mow", bermuda(), (3, 1), (3, 31)),
    ],
)
def test_what_else_a_year_brings_lies_in_its_season(
    task: str, ground: dict[str, Any], first: tuple[int, int], last: tuple[int, int]
) -> None:
    days = due_days(task, ground, 2026, measured=True)
    assert date(2026, *first) <= days[0]
    assert days[-1] <= date(2026, *last)


def test_lime_only_where_a_soil_test_asks_for_it() -> None:
    december = date(2026, 12, 10)
    found = {
        said: judged(bermuda(), december, answers=[answer(said, "lime_needed")])["lime"]["state"]
        for said in ("not_asked", "no", "yes")
    }
    assert found == {"not_asked": "ask", "no": "held", "yes": "due"}


@WITH_AND_WITHOUT_WEATHER
def test_no_weed_treatment_on_warm_season_turf_while_it_greens_up(*, measured: bool) -> None:
    """Told from March on, when winter's window has just been missed, and nowhere due until May."""
    known = {"answers": NONE, "weather": weather() if measured else []}
    for grass in ("bermuda", "zoysia", "st_augustine", "centipede"):
        found = judged(bermuda(species=grass), date(2027, 3, 20), **known)
        assert any("Green-up" in words for words in found["broadleaf_post_emergent"]["holds"])
        sprays = [name for name in found if "post_emergent" in name]
        april = states(bermuda(species=grass), DAYS, **known)
        for name in sprays:
            spring = [
                s
                for day, s in zip(DAYS, april[name], strict=True)
                if (3, 10) <= (day.month, day.day) <= (5, 5)
            ]
            assert "due" not in spring, (grass, name)
    fescue = judged(bermuda(species="tall_fescue"), date(2027, 3, 20), **known)
    assert not any("Green-up" in words for words in fescue["broadleaf_post_emergent"]["holds"])


def test_a_warm_february_closes_the_winter_spray_before_green_up() -> None:
    """Soil at 4 in held at 62 F from 5 February: bermudagrass begins to green up."""
    warm = [
        row | {"soil_4in_c": ((62.0 if row["date"] >= date(2027, 2, 5) else 50.0) - 32.0) / 1.8}
        for row in weather()
    ]
    usual = due_days("broadleaf_post_emergent", bermuda(), 2027, measured=True)
    early = due_days("broadleaf_post_emergent", bermuda(), 2027, measured=True, weather=warm)
    assert date(2027, 2, 28) in usual
    assert [day for day in early if day.month == 2][-1] == date(2027, 2, 7)


def test_a_hard_freeze_ends_the_second_pass() -> None:
    """28 F on 8 November: what is frozen back takes nothing up."""
    cold = [
        row | {"air_min_c": -3.0} if row["date"] == date(2026, 11, 8) else row for row in weather()
    ]
    done = [visit("post_emergent_first_pass", date(2026, 10, 7), "thiencarbazone", 0.1)]
    task = "post_emergent_second_pass"
    usual = due_days(task, bermuda(), 2026, measured=True, visits=done)
    early = due_days(task, bermuda(), 2026, measured=True, visits=done, weather=cold)
    assert early[0] == usual[0]
    assert early[-1] == date(2026, 11, 8) < usual[-1]


@pytest.mark.parametrize(
    ("task", "bed_type"),
    [
        ("pruning_old_wood", "old_wood_shrubs"),
        ("pruning_new_wood", "new_wood_shrubs"),
        ("pruning_foliage", "foliage_shrubs"),
    ],
)
def test_who_asks_in_autumn_is_told_not_to_prune(task: str, bed_type: str) -> None:
    bed = zone("bed", bed_type=bed_type)
    for day, is_told in ((date(2026, 8, 14), False), (date(2026, 9, 24), True)):
        found = judged(bed, day)[task]
        assert any("new growth would be tender" in words for words in found["holds"]) == is_told


def test_fescue_that_is_short_of_water_is_not_fed_in_autumn() -> None:
    fescue = bermuda(species="tall_fescue", irrigated=False)
    dry = [row | {"rain_mm": 0.0} for row in weather()]
    september, february = date(2026, 9, 12), date(2027, 2, 12)
    wet = judged(fescue, september, answers=NONE, weather=weather())["feeding_cool_season"]
    held = judged(fescue, september, answers=NONE, weather=dry)["feeding_cool_season"]
    unknown = judged(fescue, september, answers=NONE)["feeding_cool_season"]
    assert (wet["state"], held["state"], unknown["state"]) == ("due", "held", "ask")
    assert judged(fescue, february, answers=NONE)["feeding_cool_season"]["state"] == "due"
