"""What is due, what waits, what is asked: by behaviour."""

import json
from datetime import date
from typing import Any

import pytest

from tests.season.lawns import answer, bermuda, columns, judged, visit, warm_climate, zone
from turfmap.foundations.definitions import table
from turfmap.season.due import due
from turfmap.season.weather import weather_until

SEPTEMBER = date(2026, 9, 24)
OCTOBER = date(2026, 10, 10)
NONE = [answer("none")]
PRE = "autumn_pre_emergent"
SPRAY_ONE = "post_emergent_first_pass"


def test_pre_emergent_is_due_where_nothing_speaks_against_it() -> None:
    task = judged(bermuda(), SEPTEMBER, answers=NONE)[PRE]
    assert (task["state"], task["holds"]) == ("due", [])


def test_pre_emergent_is_held_where_overseeding_is_planned_with_the_ways_out_in_order() -> None:
    task = judged(bermuda(), SEPTEMBER, answers=[answer("planned", date=date(2026, 10, 15))])[PRE]
    assert task["state"] == "held"
    words = task["holds"][0]
    order = ["post-emergent", "wait the label's interval", "overseed", "live with the weeds"]
    places = [words.index(way) for way in order]
    assert places == sorted(places)
    assert "15 Oct 2026" in words


@pytest.mark.parametrize(
    "answers",
    [
        [],
        [answer("not_asked")],
        [answer("none", answered_on=date(2025, 9, 1))],  # another year's answer
        [answer("none", answered_on=date(2026, 9, 25))],  # not yet given
    ],
)
def test_pre_emergent_is_a_question_where_nobody_knows_of_overseeding(
    answers: list[dict[str, Any]],
) -> None:
    task = judged(bermuda(), SEPTEMBER, answers=answers)[PRE]
    assert task["state"] == "ask"
    assert "Do you plan to have grass seed sown" in task["tell_client"]


def test_the_newest_answer_counts_whether_for_zone_or_property() -> None:
    old_zone = answer("none", zone="Zone", answered_on=date(2026, 6, 1))
    new_all = answer("planned", answered_on=date(2026, 8, 1))
    for answers in ([old_zone, new_all], [new_all, old_zone]):
        assert judged(bermuda(), SEPTEMBER, answers=answers)[PRE]["state"] == "held"


def test_nothing_that_kills_grass_once_ryegrass_is_up() -> None:
    for known in ({"answers": [answer("done")]}, {"visits": [visit("overseeding", SEPTEMBER)]}):
        tasks = judged(bermuda(), OCTOBER, **known)
        assert tasks[SPRAY_ONE]["state"] == "held"
        assert any("ryegrass" in words for words in tasks[SPRAY_ONE]["holds"])


def test_a_sowing_on_record_stands_until_it_is_old() -> None:
    """An answer "none" after a sowing means no more is planned; only its record is cancelled."""
    sown = [visit("overseeding", date(2026, 9, 1))]
    for day in (date(2026, 8, 20), date(2026, 9, 20)):
        answers = [answer("none", answered_on=day)]
        tasks = judged(bermuda(), SEPTEMBER, answers=answers, visits=sown)
        assert tasks[PRE]["state"] == "held"  # sown three weeks ago: seedlings, whatever is said
    winter = date(2027, 2, 14)
    for told_on in (None, date(2026, 8, 20), date(2027, 1, 20)):
        said = [answer("none", answered_on=told_on)] if told_on else []
        tasks = judged(bermuda(), winter, answers=said, visits=sown)
        assert tasks["spring_pre_emergent"]["state"] == "held"


def test_what_ryegrass_does_not_bear_is_not_offered_on_a_lawn_that_has_it() -> None:
    """Common practice, from memory: metsulfuron kills ryegrass, 2,4-D does not."""
    december = date(2026, 12, 5)
    cool = warm_climate(date(2026, 12, 1), december)
    lines = {
        said: judged(bermuda(), december, answers=[answer(said)], weather=cool)[
            "broadleaf_post_emergent"
        ]["reasons"]
        for said in ("none", "done", "not_asked")
    }
    starts = {"none": "Borne by", "done": "Not on bermudagrass with sown", "not_asked": "Not now"}
    for said, start in starts.items():
        (line,) = (line for line in lines[said] if "metsulfuron" in line)
        assert line.startswith(start)
    assert any(line.startswith("Borne by") and "2,4-D" in line for line in lines["done"])
    # Not asked is no better than planned on a day that nobody knows.
    for answers in ([], [answer("planned")]):
        task = judged(bermuda(), december, answers=answers)["broadleaf_post_emergent"]
        assert task["state"] == "ask"


def test_heat_holds_post_emergents_in_summer_and_so_does_not_knowing() -> None:
    july = date(2026, 7, 10)
    hot = warm_climate(date(2026, 6, 1), july)  # highs of 92 F
    mild = [row | {"air_max_c": 28.0} for row in hot]
    states = [
        judged(bermuda(), july, answers=NONE, weather=weather)["summer_annual_post_emergent"]
        for weather in (hot, mild, hot[:-1], [])
    ]
    assert [task["state"] for task in states] == ["held", "due", "held", "ask"]


def test_a_grass_killing_active_keeps_its_interval_before_seed() -> None:
    """Foramsulfuron: two weeks before overseeding (label text, source H8)."""
    near = judged(bermuda(), OCTOBER, answers=[answer("planned", date=date(2026, 10, 20))])
    assert near[SPRAY_ONE]["state"] != "due"
    far = judged(bermuda(), OCTOBER, answers=[answer("planned", date=date(2026, 11, 7))])
    assert far[SPRAY_ONE]["state"] == "due"
    day_not_known = judged(bermuda(), OCTOBER, answers=[answer("planned")])
    assert day_not_known[SPRAY_ONE]["state"] == "ask"


def test_unknown_grass_is_a_question_on_every_herbicide() -> None:
    tasks = judged(zone(irrigated=True), SEPTEMBER, answers=NONE)
    assert tasks[PRE]["state"] == "ask"
    assert any("grass is not known" in words for words in tasks[PRE]["holds"])
    warm = tasks["feeding_warm_season"]  # it may be warm-season turf: its windows and holds count
    assert warm["opens"] is not None
    assert tasks["last_cut"]["opens"] is not None
    assert any("No late nitrogen" in words for words in warm["holds"])


def test_what_a_grass_does_not_bear_is_said_and_held() -> None:
    """Foramsulfuron is listed as controlling centipedegrass (source H8)."""
    task = judged(bermuda(species="centipede"), OCTOBER, answers=NONE)[SPRAY_ONE]
    assert task["state"] == "held"
    lines = [line for line in task["reasons"] if line.startswith("Not on centipedegrass: ")]
    assert any("foramsulfuron" in line for line in lines)


def test_a_grass_without_tolerance_rows_is_a_question() -> None:
    tasks = judged(bermuda(species="bahia"), SEPTEMBER, answers=NONE)
    assert tasks[PRE]["state"] == "ask"


def test_figures_from_memory_are_marked_and_only_a_chemical_has_a_label() -> None:
    for task in judged(bermuda(), SEPTEMBER, answers=NONE).values():
        lines = " ".join([*task["reasons"], *task["holds"]])
        chemical = table("task").by("task")[task["task"]]["chemical"]
        assert chemical or "on the label" not in lines
        assert not chemical or "unverified figure" not in lines
        if chemical:
            assert any(
                "label in hand, local rules and a licence" in line for line in task["reasons"]
            )
    task = judged(bermuda(), SEPTEMBER, answers=NONE)[PRE]
    borne = next(line for line in task["reasons"] if line.startswith("Borne by"))
    assert "unverified: confirm on the label" in borne
    assert all("unverified" not in line for line in task["sources"])


@pytest.mark.parametrize("latitude", [-33.5, 60.0, float("nan")])
def test_where_no_window_is_known_it_asks_and_names_the_extension_service(
    latitude: float,
) -> None:
    tasks = judged(bermuda(latitude=latitude), SEPTEMBER, answers=NONE)
    assert {task["state"] for task in tasks.values()} == {"ask"}
    assert tasks[PRE]["opens"] is None
    assert "extension service" in tasks[PRE]["holds"][0]


def test_drought_holds_post_emergents_and_so_does_not_knowing() -> None:
    dry_ground = bermuda(irrigated=False)
    dry = warm_climate(date(2026, 9, 1), OCTOBER, rain_mm=0.0)
    wet = warm_climate(date(2026, 9, 1), OCTOBER, rain_mm=3.0)
    no_rain_column = warm_climate(date(2026, 9, 1), OCTOBER, rain_mm=None)
    states = [
        judged(dry_ground, OCTOBER, answers=NONE, weather=weather)[SPRAY_ONE]["state"]
        for weather in (dry, wet, no_rain_column, [])
    ]
    assert states == ["held", "due", "ask", "ask"]
    looked = [*NONE, answer("no", "turf_dry", answered_on=OCTOBER)]
    assert judged(dry_ground, OCTOBER, answers=looked)[SPRAY_ONE]["state"] == "due"


def test_the_second_pass_follows_the_first_by_three_weeks() -> None:
    done = [visit(SPRAY_ONE, date(2026, 10, 6), "thiencarbazone", 0.1)]
    early = judged(bermuda(), date(2026, 10, 20), answers=NONE, visits=done)
    assert early[SPRAY_ONE]["state"] == "done"
    second = early["post_emergent_second_pass"]
    assert (second["state"], second["opens"]) == ("soon", "2026-10-27")
    late = judged(bermuda(), date(2026, 10, 27), answers=NONE, visits=done)
    assert late["post_emergent_second_pass"]["state"] == "due"


def test_a_first_pass_too_late_for_a_second_leaves_none_this_year() -> None:
    late = [visit(SPRAY_ONE, date(2026, 11, 25))]
    tasks = judged(bermuda(), date(2026, 12, 5), answers=NONE, visits=late)
    second = tasks["post_emergent_second_pass"]
    assert (second["state"], second["opens"]) == ("later", "2027-10-22")


def test_a_window_that_closed_without_a_visit_is_missed_for_thirty_days() -> None:
    assert judged(bermuda(), date(2026, 10, 6), answers=NONE)[PRE]["state"] == "missed"
    assert judged(bermuda(), date(2026, 11, 5), answers=NONE)[PRE]["state"] == "later"


def test_what_was_held_was_not_missed() -> None:
    planned = [answer("planned", date=date(2026, 10, 15))]
    task = judged(bermuda(), date(2026, 10, 6), answers=planned)[PRE]
    assert (task["state"], task["opens"]) == ("later", "2027-09-15")


def _reminders() -> set[str]:
    return {row["task"] for row in table("task").rows if row["reminder"]}


def test_work_to_do_or_to_ask_comes_first_by_rank_and_reminders_last() -> None:
    """A question about the pre-emergent is not hidden by a reminder that is always due."""
    tasks = judged(zone(species="bermuda"), OCTOBER, answers=NONE)
    work = {name: task for name, task in tasks.items() if name not in _reminders()}
    assert list(tasks)[: len(work)] == list(work)
    order = [["due", "ask"], ["held"], ["soon"], ["missed"], ["later"], ["done"]]
    places = [
        next(i for i, states in enumerate(order) if task["state"] in states)
        for task in work.values()
    ]
    assert places == sorted(places)
    rank = {row["task"]: row["rank"] for row in table("task").rows}
    first = [rank[name] for name, place in zip(work, places, strict=True) if place == 0]
    assert first == sorted(first)
    soon = [task["opens"] for task in work.values() if task["state"] == "soon"]
    assert soon == sorted(soon)


def test_a_task_without_a_window_does_not_hide_work_that_is_due_or_near() -> None:
    """At 38 N nothing is known of planting or watering, but autumn's work on fescue is."""
    tasks = judged(bermuda(species="tall_fescue", latitude=38.0), SEPTEMBER, answers=NONE)
    work = [task for name, task in tasks.items() if name not in _reminders()]
    first_unknown = [task["opens"] for task in work].index(None)
    states = [task["state"] for task in work]
    assert "due" in states[:first_unknown]
    assert not {"due", "held", "soon"} & set(states[first_unknown:])


def test_irrigation_is_switched_only_where_there_is_some() -> None:
    may = date(2027, 5, 10)
    assert "irrigation_on" not in judged(bermuda(irrigated=False), may, answers=NONE)
    assert judged(bermuda(irrigated=None), may, answers=NONE)["irrigation_on"]["state"] == "ask"
    assert judged(bermuda(), may, answers=NONE)["irrigation_on"]["state"] == "due"


def test_ground_that_is_never_treated_has_no_tasks() -> None:
    assert not judged(zone("woods"), SEPTEMBER)
    assert not judged(zone("water"), SEPTEMBER)


def test_a_bed_of_unknown_shrubs_is_not_pruned_before_somebody_says_what_they_are() -> None:
    tasks = judged(zone("bed", bed_type="shrubs"), date(2027, 2, 14))
    assert tasks["pruning_new_wood"]["state"] == "ask"


def test_later_weather_changes_nothing() -> None:
    cold = [row | {"air_min_c": -5.0} for row in warm_climate(date(2026, 9, 25), OCTOBER)]
    so_far = warm_climate(date(2026, 8, 1), SEPTEMBER)
    assert judged(bermuda(), SEPTEMBER, answers=NONE, weather=so_far) == judged(
        bermuda(), SEPTEMBER, answers=NONE, weather=[*so_far, *cold]
    )


@pytest.mark.parametrize(
    ("weather", "words"),
    [
        ([], "calendar days are used"),
        (warm_climate(date(2026, 8, 1), date(2026, 9, 1)), "stops on 1 Sep 2026, 23 days before"),
        (warm_climate(date(2026, 8, 1), SEPTEMBER, rain_mm=None), "no rain"),
    ],
)
def test_what_the_weather_lacks_is_said(weather: list[dict[str, Any]], words: str) -> None:
    found = due(
        columns([bermuda()]),
        answers=NONE,
        visits=[],
        weather=weather_until(weather, as_of=SEPTEMBER),
        as_of=SEPTEMBER,
    )
    assert any(words in caution for caution in found["cautions"])
    assert any("label" in caution for caution in found["cautions"])


def test_why_gives_the_whole_chain() -> None:
    found = due(
        columns([bermuda()]),
        answers=NONE,
        visits=[],
        weather=weather_until(warm_climate(date(2026, 8, 1), SEPTEMBER), as_of=SEPTEMBER),
        as_of=SEPTEMBER,
        why=True,
    )
    chain = found["zones"][0]["tasks"][0]["why"]
    assert sum(line.startswith(("opens: ", "closes: ")) for line in chain) == 4
    assert any("prodiamine" in line and "lb per acre" in line for line in chain)
    # The smooth climate has night lows of 61 and 60 F then, and 3 mm of rain every day.
    assert any(line.endswith("up to 24 Sep 2026: 61, 61, 60, 60, 60 F") for line in chain)
    assert any(line.endswith("0.12, 0.12, 0.12, 0.12, 0.12 in") for line in chain)
    assert any(line.startswith("opens: ") and "[" in line for line in chain)
    json.dumps(found, allow_nan=False)
