"""Plans by rules of thumb: where the search starts, and what the benchmark compares with."""

import numpy as np
import pytest

from tests.days.plan.days import block, day, problem, random_problem, stop
from turfmap.days.plan.filling import Ready
from turfmap.days.plan.rules_of_thumb import by_area, by_due_day, first_plan, grouped
from turfmap.days.plan.weighing import cost


def test_areas_are_clusters_of_places_and_coinciding_places_are_no_fault() -> None:
    stops = [stop(place, id=f"{place} {n}") for place in (1, 2, 30, 31) for n in range(10)]
    group = grouped(problem(stops, [block(0)]), areas=2, seed=1)
    assert len(set(group[:20].tolist())) == len(set(group[20:].tolist())) == 1
    assert group[0] != group[20]
    assert len(grouped(problem(stops[:10], [block(0)]), areas=5, seed=1)) == 10


def test_what_falls_due_first_is_served_first() -> None:
    stops = [stop(1, last=day(5)), stop(4, last=day(0)), stop(2, last=day(3))]
    (tour,) = by_due_day(Ready(problem(stops, [block(0)]))).tours
    assert tour.stops == [1, 2, 0]


def test_in_an_area_the_nearest_comes_next() -> None:
    stops = [stop(3), stop(1), stop(2)]
    (tour,) = by_area(Ready(problem(stops, [block(0)])), areas=1, seed=1).tours
    assert tour.stops == [1, 2, 0]


@pytest.mark.parametrize("seed", range(5))
def test_the_search_starts_from_the_best_of_several(seed: int) -> None:
    given = random_problem(seed, stops=40)
    ready = Ready(given)
    start = cost(given, first_plan(ready, seed=1))
    assert start <= min(cost(given, by_area(ready, areas=n, seed=1)) for n in (1, 2, 5))
    assert np.isfinite(start)
