"""The checker finds every kind of fault that is planted, and none where the rules are kept."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tests.days.plan.days import FIRST, block, day, plan, problem, random_problem, stop
from turfmap.days.plan.checker import Interval, checked
from turfmap.days.plan.filling import Ready
from turfmap.days.plan.problem import HOUR_S, Closed, Problem
from turfmap.days.plan.rules_of_thumb import by_area, by_due_day, first_plan
from turfmap.days.plan.search import Effort, searched
from turfmap.days.plan.tours import Timed, timed

SOUND = {0: [0, 1, -1, 2]}


def sound() -> tuple[Problem, list[Timed]]:
    """Return a plan without a fault: three stops and a refill on the first day."""
    stops = [stop(n, amounts={"mix": 40.0}) for n in (1, 2, 3)]
    given = problem(stops, [block(0, tanks={"mix": 80.0}), block(1, tanks={"mix": 80.0})])
    return given, [timed(given, tour) for tour in plan(given, SOUND).tours]


def rules(given: Problem, tours: list[Timed], *intervals: Interval) -> set[str]:
    return {one.rule for one in checked(given, tours, intervals)}


def test_a_sound_plan_has_no_fault() -> None:
    given, tours = sound()
    assert rules(given, tours) == set()


def changed(given: Problem, which: int, **more: Any) -> Problem:
    stops = tuple(replace(s, **more) if n == which else s for n, s in enumerate(given.stops))
    return replace(given, stops=stops)


def blocked(given: Problem, **more: Any) -> Problem:
    return replace(given, blocks=(replace(given.blocks[0], **more), *given.blocks[1:]))


Planted = Callable[[Problem], Problem]


@pytest.mark.parametrize(
    ("rule", "planted"),
    [
        ("days", lambda p: changed(p, 1, first=day(1))),
        ("days", lambda p: changed(p, 1, first=day(-3), last=day(-1))),
        ("closed", lambda p: changed(p, 0, closed=(Closed(weekdays=frozenset({0})),))),
        ("closed", lambda p: changed(p, 2, closed=(Closed(9 * HOUR_S, 11 * HOUR_S),))),
        ("closed", lambda p: changed(p, 0, closed=(Closed(day=FIRST),))),
        ("block", lambda p: blocked(p, opens=9 * HOUR_S)),
        ("block", lambda p: blocked(p, closes=10 * HOUR_S)),
        ("away", lambda p: blocked(p, leaves=8 * HOUR_S)),
        ("away", lambda p: blocked(p, returns=10 * HOUR_S)),
        ("shift", lambda p: blocked(p, shift_s=3 * HOUR_S)),
        ("tank", lambda p: changed(p, 1, amounts={"mix": 41.0})),
        ("tank", lambda p: changed(p, 1, amounts={"other": 1.0})),
        ("refills", lambda p: blocked(p, most_refills=0)),
        ("licence", lambda p: changed(p, 1, licences=frozenset({"applicator"}))),
        ("clock", lambda p: changed(p, 1, service_s=1_801)),
        ("clock", lambda p: blocked(p, refill_s=1_201)),
    ],
)
def test_a_planted_fault_is_found(rule: str, planted: Planted) -> None:
    given, tours = sound()
    assert rule in rules(planted(given), tours)


def test_a_road_that_takes_longer_is_found() -> None:
    given, tours = sound()
    slower = replace(given, travel=replace(given.travel, seconds=given.travel.seconds + 1))
    assert "clock" in rules(slower, tours)


def test_a_stop_served_twice_and_a_truck_out_twice_are_found() -> None:
    given, tours = sound()
    again = replace(tours[0], tour=replace(tours[0].tour, block=1))
    assert {"twice", "overlap", "days"} <= rules(given, [*tours, again])
    assert "twice" in rules(given, [*tours, tours[0]])


@pytest.mark.parametrize("apart", [0, 16, 26])
def test_a_second_pass_outside_its_interval_is_found(apart: int) -> None:
    stops = [stop(1, last=day(40)), stop(2, last=day(40))]
    given = problem(stops, [block(0), block(apart, truck="other")], last=day(40))
    tours = [timed(given, tour) for tour in plan(given, {0: [0], 1: [1]}).tours]
    interval = Interval("stop 1", "stop 2", 17, 25)
    assert rules(given, tours, interval) == {"interval"}


@pytest.mark.parametrize("apart", [17, 25])
def test_a_second_pass_on_the_edge_of_its_interval_is_none(apart: int) -> None:
    stops = [stop(1, last=day(40)), stop(2, last=day(40))]
    given = problem(stops, [block(0), block(apart)], last=day(40))
    tours = [timed(given, tour) for tour in plan(given, {0: [0], 1: [1]}).tours]
    assert rules(given, tours, Interval("stop 1", "stop 2", 17, 25)) == set()


def test_its_own_clock_finds_a_shift_that_no_times_can_mend() -> None:
    """Two stops, one open in the morning and one in the evening: no way to be away for less."""
    early = stop(1, closed=(Closed(9 * HOUR_S, 24 * HOUR_S),))
    late = stop(2, closed=(Closed(0, 15 * HOUR_S),))
    given = problem([early, late], [block(0, shift_s=6 * HOUR_S)])
    (tour,) = plan(given, {0: [0, 1]}).tours
    lying = timed(given, tour)
    lying = replace(lying, leaves=lying.home.ends - 5 * HOUR_S)
    found = {one.problem for one in checked(given, [lying])}
    assert "by the checker's own clock it cannot be done" in found


def test_a_truck_that_may_leave_later_is_not_away_too_long() -> None:
    """The block opens at 7 and the client at 12: an earliest clock would say 6 hours, not 1."""
    given = problem(
        [stop(1, closed=(Closed(0, 12 * HOUR_S),))],
        [block(0, opens=7 * HOUR_S, shift_s=HOUR_S)],
    )
    tours = [timed(given, tour) for tour in plan(given, {0: [0]}).tours]
    assert rules(given, tours) == set()
    assert tours[0].away_s == 50 * 60  # ten minutes there, half an hour of work, ten back


@pytest.mark.parametrize("seed", range(200))
def test_random_plans_keep_every_rule(seed: int) -> None:
    """Plans by thumb and by a short search, two hundred problems with every kind of rule."""
    given = random_problem(seed)
    ready = Ready(given)
    start = first_plan(ready, seed=seed)
    plans = [by_area(ready, areas=3, seed=seed), by_due_day(ready), start]
    plans.append(searched(ready, start, Effort(40, seed)))
    assert any(one.tours for one in plans)
    for one in plans:
        assert checked(given, [timed(given, tour) for tour in one.tours]) == []
