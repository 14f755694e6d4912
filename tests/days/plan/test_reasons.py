"""Why a stop is left out: for each rule a week in which that rule alone binds."""

from typing import Any

import pytest

from tests.days.plan.days import block, day, plan, problem, stop
from turfmap.days.plan.filling import Ready
from turfmap.days.plan.problem import HOUR_S, Closed, Problem
from turfmap.days.plan.reasons import more_with_an_hour, saved_by_a_tank, why_left_out
from turfmap.days.plan.tours import plan_of

DAYS = frozenset(range(10))


def reason(given: Problem, calls: dict[int, list[int]], number: int) -> tuple[str, str]:
    found = why_left_out(Ready(given), plan(given, calls), number, DAYS)
    return found.binds, found.why


@pytest.mark.parametrize(
    ("binds", "said", "stops", "blocks"),
    [
        ("weather", "no hours fit to work", {"first": day(3), "last": day(4)}, {}),
        ("tank", "takes 90.0 of mix at once", {"amounts": {"mix": 90.0}}, {}),
        ("tank", "has a tank for other", {"amounts": {"other": 1.0}}, {}),
        ("licence", "licensed as applicator", {"licences": frozenset({"applicator"})}, {}),
        ("no_go", "lets nobody in", {"closed": (Closed(),), "last": day(0)}, {}),
        ("hours", "its 540 min fit into no hours", {"service_s": 9 * HOUR_S}, {}),
        (
            "drive",
            "back within its hours",
            {"service_s": 8 * HOUR_S},
            {"shift_s": 8 * HOUR_S + 600},
        ),
    ],
)
def test_the_rule_that_binds_is_named(
    binds: str, said: str, stops: dict[str, Any], blocks: dict[str, Any]
) -> None:
    given = problem([stop(1, **stops)], [block(0, tanks={"mix": 80.0}, **blocks)])
    found, why = reason(given, {}, 0)
    assert found == binds
    assert said in why


def test_a_week_without_trucks_is_told_apart_from_one_without_weather() -> None:
    given = problem([stop(1, first=day(5), last=day(6))], [block(0)])
    ready = Ready(given)
    nobody = why_left_out(ready, plan_of([]), 0, frozenset({0, 1}))
    assert nobody.binds == "days"
    assert why_left_out(ready, plan_of([]), 0, frozenset({0, 6})).binds == "weather"


def test_a_full_day_and_an_empty_tank_say_how_much_is_lacking() -> None:
    stops = [stop(1, service_s=7 * HOUR_S), stop(1, id="b", service_s=2 * HOUR_S)]
    given = problem(stops, [block(0)])
    assert reason(given, {0: [0]}, 1) == (
        "hours",
        "nearest: truck on 14 Sep 2026 lacks 60 min",
    )
    wet = [stop(n, amounts={"mix": 60.0}) for n in (1, 2)]
    given = problem(wet, [block(0, tanks={"mix": 100.0}, most_refills=0)])
    assert reason(given, {0: [0]}, 1) == (
        "tank",
        "nearest: truck on 14 Sep 2026 lacks 20 in its tank and a refill",
    )


def test_one_more_hour_takes_the_stops_that_fit_into_it() -> None:
    """Seven hours are full; two stops of half an hour at the same place fit into one more."""
    stops = [stop(1, service_s=7 * HOUR_S)] + [stop(1, id=f"left {n}") for n in range(3)]
    given = problem(stops, [block(0, shift_s=7 * HOUR_S + 1_200)])
    full = plan(given, {0: [0]})
    assert more_with_an_hour(Ready(given), full, full.tours[0]) == 2


def test_one_more_tank_saves_the_refill_and_the_way_to_it() -> None:
    """Stops 20 and 30 minutes out: without going home between, 40 minutes less and no refill."""
    stops = [stop(2, amounts={"mix": 60.0}), stop(3, amounts={"mix": 60.0})]
    given = problem(stops, [block(0, tanks={"mix": 80.0}, refill_s=1_200)])
    (tour,) = plan(given, {0: [0, -1, 1]}).tours
    assert saved_by_a_tank(given, tour) == 40 * 60 + 1_200
    (enough,) = plan(given, {0: [0]}).tours
    assert saved_by_a_tank(given, enough) == 0
