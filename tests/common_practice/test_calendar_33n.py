"""The year at about 33.5 degrees north on a warm-season climate.

Common practice, no source: what practitioners there expect, in dates. The climate is smooth and
from memory (`tests.season.lawns.warm_climate`). Each date is looked for with that weather and
without any.
"""

from datetime import date, timedelta
from typing import Any

import pytest

from tests.season.lawns import Task, answer, bermuda, judged, visit, warm_climate, zone

NONE = [answer("none")]
WITH_AND_WITHOUT_WEATHER = pytest.mark.parametrize("measured", [True, False])


def on(day: date, ground: dict[str, Any], *, measured: bool, **known: Any) -> dict[str, Task]:
    weather = warm_climate(day - timedelta(days=400), day) if measured else []
    return judged(ground, day, weather=weather, **{"answers": NONE, **known})


def first_due(
    task: str, ground: dict[str, Any], year: int, *, measured: bool, **known: Any
) -> tuple[date, date]:
    """Return the first and last day of a year on which a task is due, looked at every third day."""
    days = [date(year, 1, 1) + timedelta(days=n) for n in range(0, 365, 3)]
    due = [
        day
        for day in days
        if on(day, ground, measured=measured, **known).get(task, {}).get("state") == "due"
    ]
    return due[0], due[-1]


@WITH_AND_WITHOUT_WEATHER
def test_autumn_pre_emergent_from_mid_september_to_early_october(*, measured: bool) -> None:
    first, last = first_due("autumn_pre_emergent", bermuda(), 2026, measured=measured)
    assert date(2026, 9, 10) <= first <= date(2026, 9, 21)
    assert date(2026, 9, 26) <= last <= date(2026, 10, 8)


@WITH_AND_WITHOUT_WEATHER
def test_spring_pre_emergent_about_february(*, measured: bool) -> None:
    first, last = first_due("spring_pre_emergent", bermuda(), 2027, measured=measured)
    assert date(2027, 2, 1) <= first <= date(2027, 2, 20)
    assert last <= date(2027, 3, 16)


@WITH_AND_WITHOUT_WEATHER
def test_two_passes_three_weeks_apart_in_october_and_november(*, measured: bool) -> None:
    first, last = first_due("post_emergent_first_pass", bermuda(), 2026, measured=measured)
    assert date(2026, 9, 25) <= first <= date(2026, 10, 5)
    assert last <= date(2026, 11, 10)
    done = [visit("post_emergent_first_pass", date(2026, 10, 7))]
    again, end = first_due(
        "post_emergent_second_pass", bermuda(), 2026, measured=measured, visits=done
    )
    assert 20 <= (again - date(2026, 10, 7)).days <= 25
    assert end <= date(2026, 11, 30)


@WITH_AND_WITHOUT_WEATHER
def test_irrigation_on_about_may(*, measured: bool) -> None:
    first, last = first_due("irrigation_on", bermuda(), 2027, measured=measured)
    assert (first.month, last.month) == (5, 5)


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


@WITH_AND_WITHOUT_WEATHER
def test_spring_bloomers_pruned_after_bloom_and_not_after_the_fourth_of_july(
    *, measured: bool
) -> None:
    bed = zone("bed", bed_type="old_wood_shrubs")
    first, last = first_due("pruning_old_wood", bed, 2027, measured=measured)
    assert first >= date(2027, 4, 1)
    assert date(2027, 7, 2) <= last <= date(2027, 7, 4)


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
    autumn = on(date(2026, 9, 24), bermuda(), measured=measured)["feeding_warm_season"]
    assert any("No late nitrogen" in words for words in autumn["holds"])


@WITH_AND_WITHOUT_WEATHER
def test_nothing_pre_emergent_all_year_on_ground_to_be_overseeded(*, measured: bool) -> None:
    for number in range(0, 365, 7):
        day = date(2026, 4, 1) + timedelta(days=number)
        planned = [answer("planned", date=date(2026, 10, 20), answered_on=day)]
        tasks = on(day, bermuda(), measured=measured, answers=planned)
        for name in tasks.keys() & {
            "autumn_pre_emergent",
            "spring_pre_emergent",
            "spring_pre_emergent_second",
        }:
            assert tasks[name]["state"] != "due"
            assert tasks[name]["holds"]
