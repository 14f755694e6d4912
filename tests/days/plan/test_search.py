"""The search against every plan there is, on problems so small that all can be tried."""

import itertools
from collections.abc import Iterator
from dataclasses import replace

import pytest

from tests.days.plan.days import block, day, problem, random_problem, stop
from turfmap.days.plan.checker import checked
from turfmap.days.plan.filling import Ready
from turfmap.days.plan.problem import HOUR_S, Closed, Problem
from turfmap.days.plan.regions import planned
from turfmap.days.plan.rules_of_thumb import first_plan
from turfmap.days.plan.search import Effort, searched
from turfmap.days.plan.tours import REFILL, Call, Plan, Tour, plan_of, timed
from turfmap.days.plan.weighing import cost, moved_stops


def orders(stops: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    """Yield every order of stops, with and without one refill between any two (-1)."""
    for order in itertools.permutations(stops):
        yield order
        for gap in range(1, len(order)):
            yield (*order[:gap], -1, *order[gap:])


def every_tour(given: Problem, number: int, stops: tuple[int, ...]) -> Iterator[Tour]:
    """Yield every tour of a block through stops that keeps all rules, in every run of each stop."""
    runs = Ready(given).runs
    for order in orders(stops):
        choices = [runs[n] if n >= 0 else [(0, 0)] for n in order]
        for spans in itertools.product(*choices):
            calls = (Call(n, *s) if n >= 0 else REFILL for n, s in zip(order, spans, strict=True))
            tour = Tour(number, tuple(calls))
            if not checked(given, [timed(given, tour)]):
                yield tour


def cheapest(given: Problem) -> float:
    """Return the cost of the best of all plans: each stop in one of the blocks, or left out."""
    best = float("inf")
    known: dict[tuple[int, tuple[int, ...]], Tour | None] = {}
    blocks = range(len(given.blocks))
    for places in itertools.product((-1, *blocks), repeat=len(given.stops)):
        tours: list[Tour] = []
        for number in blocks:
            mine = tuple(n for n, place in enumerate(places) if place == number)
            if (number, mine) not in known:
                found = every_tour(given, number, mine) if mine else iter(())
                known[number, mine] = min(
                    found, key=lambda tour: cost(given, plan_of([tour])), default=None
                )
            tour = known[number, mine]
            if mine and tour is None:
                break
            tours += [tour] if tour is not None else []
        else:
            best = min(best, cost(given, plan_of(tours)))
    return best


def search(given: Problem, iterations: int = 400, seed: int = 1) -> Plan:
    ready = Ready(given)
    return searched(ready, first_plan(ready, seed=seed), Effort(iterations, seed))


@pytest.mark.parametrize("seed", range(12))
def test_tiny_problems_equal_every_plan_tried(seed: int) -> None:
    """Four stops, two trucks, one day of each kind of rule; half an hour beside the hours to spray.

    The trucks are away as long as they like, so the hours to work in are what binds.
    """
    made = random_problem(seed, stops=4, trucks=1, days=2)
    blocks = tuple(
        replace(one, shift_s=14 * HOUR_S, leaves=one.opens - HOUR_S, returns=one.closes + HOUR_S)
        for one in made.blocks
    )
    given = replace(made, blocks=blocks)
    plan = search(given)
    assert checked(given, [timed(given, tour) for tour in plan.tours]) == []
    assert cost(given, plan) == cheapest(given)


def test_the_same_seed_gives_the_same_plan_and_an_empty_week_an_empty_one() -> None:
    given = random_problem(5, stops=30)
    assert search(given) == search(given)
    assert search(replace(given, blocks=())).tours == ()
    assert search(replace(given, stops=())).tours == ()


def test_a_stopped_search_keeps_the_best_so_far() -> None:
    given = random_problem(7, stops=30)
    ready = Ready(given)
    start = first_plan(ready, seed=1)
    done: list[int] = []
    effort = Effort(10**6, 1, on_best=lambda now: done.append(now.done), stopped=lambda: bool(done))
    plan = searched(ready, start, effort)
    assert len(done) == 1
    assert cost(given, plan) < cost(given, start)
    assert searched(ready, start, Effort(10**6, 1, stopped=lambda: True)) == start


def test_what_matters_most_is_served_when_not_all_can_be() -> None:
    stops = [stop(n, service_s=4 * HOUR_S, priority=p) for n, p in ((1, 3), (2, 1), (3, 2))]
    plan = search(problem(stops, [block(0, opens=8 * HOUR_S, closes=13 * HOUR_S)]))
    assert plan.served == {1}


def test_licence_tank_and_closed_days_bind_the_search() -> None:
    licensed = {"applicator"}
    stops = [
        stop(1, licences=frozenset(licensed)),
        stop(1, id="a", amounts={"mix": 90.0}),
        stop(1, id="b", closed=(Closed(weekdays=frozenset({0})),)),
        stop(1, id="c", first=day(1)),
    ]
    blocks = [block(0, tanks={"mix": 80.0}), block(1, licences=frozenset(licensed))]
    plan = search(problem(stops, blocks))
    served = {blocks[tour.block].day: set(tour.stops) for tour in plan.tours}
    assert plan.served == {0, 2, 3}
    assert served[day(1)] == {0, 2, 3}


def test_the_way_from_and_to_the_depot_counts_for_the_shift() -> None:
    """Seven and a half hours of work half an hour away are 8 h 30: too long for 8 h 20."""
    stops = [stop(3, service_s=4 * HOUR_S), stop(3, id="b", service_s=3 * HOUR_S + 1_800)]
    given = problem(stops, [block(0, shift_s=8 * HOUR_S + 1_200)])
    longer = problem(stops, [block(0, shift_s=8 * HOUR_S + 1_800)])
    for made in (search, by_hand):
        assert len(made(given).served) == 1
        assert len(made(longer).served) == 2


def by_hand(given: Problem) -> Plan:
    return first_plan(Ready(given), seed=1)


def test_an_announced_day_is_kept_where_moving_would_save_less_than_its_price() -> None:
    """Two stops on one street: one trip serves both, unless a client was told another day."""
    near = [stop(1), stop(1, id="told", announced=day(3))]
    blocks = [block(0), block(3, truck="truck")]
    loose = problem([near[0], replace(near[1], announced=None)], blocks)
    assert len(search(loose).tours) == 1
    told = problem([replace(near[0], last=day(1)), near[1]], blocks)
    free = replace(told, prices=replace(told.prices, truck_day=0))
    plan = search(free)
    assert moved_stops(free, plan) == {}
    assert len(plan.tours) == 2
    dear = search(replace(told, prices=replace(told.prices, truck_day=2 * HOUR_S)))
    assert set(moved_stops(told, dear)) == {1}


def test_regions_are_the_same_one_by_one_and_side_by_side(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("turfmap.days.plan.regions.STOPS_OF_A_REGION", 30)
    given = random_problem(3, stops=80, trucks=4)
    alone = planned(given, Effort(60, 1))
    assert alone == planned(given, Effort(60, 1), workers=2)
    assert checked(given, [timed(given, tour) for tour in alone.tours]) == []
