"""Plans as people make them: by area, the most urgent area first; or by what falls due first.

The search starts from the first of them, and the benchmark holds it against both.
"""

import warnings
from collections.abc import Callable, Sequence

import numpy as np
from scipy.cluster.vq import kmeans2

from turfmap.days.plan.filling import Reach, Ready, Rule, filled
from turfmap.days.plan.problem import Floats, Marks, Problem, Whole
from turfmap.days.plan.tours import Plan, plan_of
from turfmap.days.plan.weighing import cost

# Stops an area, tried in turn for the start of the search.
SIZES = (8, 16, 32)
# Ranks an area above any drive [s].
FIRST = 1e7


def first_plan(ready: Ready, *, seed: int) -> Plan:
    """Return the best of a few plans by area: where the search starts."""
    plans = [by_area(ready, areas=n, seed=seed) for n in areas_of(len(ready.problem.stops), SIZES)]
    return min(plans, key=lambda plan: cost(ready.problem, plan))


def areas_of(stops: int, sizes: Sequence[int]) -> list[int]:
    """Return how many areas there are at each number of stops an area, each once."""
    return sorted({max(1, round(stops / size)) for size in sizes})


def by_area(ready: Ready, *, areas: int, seed: int) -> Plan:
    """Plan by area: the most urgent area first, in it always the nearest stop."""
    problem = ready.problem
    group = grouped(problem, areas=areas, seed=seed)

    def rule_of(pending: Marks, block: int) -> Rule:
        urgency = _urgency(ready, group, pending, block)
        return lambda reach: urgency[group] * FIRST + reach.drive_s + _wait(problem, reach)

    return _planned(ready, rule_of)


def by_due_day(ready: Ready, *, tie_s: int = 0) -> Plan:
    """Plan by due day: what falls due first comes first, of equals the nearest.

    Parameters
    ----------
    tie_s
        Due days that are no further apart than this count as equal [s].
    """
    problem, step = ready.problem, max(tie_s, 1)

    def rule_of(_pending: Marks, _block: int) -> Rule:
        rank = (ready.last_end // step).astype(np.float64)
        return lambda reach: rank * FIRST + reach.drive_s + _wait(problem, reach)

    return _planned(ready, rule_of)


def _planned(ready: Ready, rule_of: Callable[[Marks, int], Rule]) -> Plan:
    problem = ready.problem
    pending = np.ones(len(problem.stops), dtype=bool)
    order = sorted(range(len(problem.blocks)), key=lambda n: (problem.blocks[n].opens, n))
    tours = [filled(ready, block, pending, rule_of(pending, block)) for block in order]
    return plan_of(tours)


def _wait(problem: Problem, reach: Reach) -> Floats:
    """Return how long each stop would keep the truck before its work ends, service left out."""
    fits = reach.fits
    over = np.where(fits, reach.ends - problem.service_s, 0)
    least = over[fits].min() if fits.any() else 0
    found: Floats = (over - least).astype(np.float64)
    return found


def _urgency(ready: Ready, group: Whole, pending: Marks, block: int) -> Floats:
    """Return the rank of each area: by the first day on which one of its stops falls due."""
    can = pending & ready.problem.may_go[block]
    due = np.full(int(group.max(initial=0)) + 1, np.inf)
    np.minimum.at(due, group[can], ready.last_end[can].astype(np.float64))
    order = np.lexsort((np.arange(len(due)), due))
    rank = np.empty(len(due), dtype=np.float64)
    rank[order] = np.arange(len(due))
    return rank


def grouped(problem: Problem, *, areas: int, seed: int) -> Whole:
    """Return the area of each stop, by where they lie, shape (stops,)."""
    places, of = np.unique(problem.travel.xy_m[problem.places], axis=0, return_inverse=True)
    if areas <= 1:
        return np.zeros(len(of), dtype=np.int64)
    if len(places) <= areas:
        return of.astype(np.int64)
    chance = np.random.default_rng(seed)
    with warnings.catch_warnings():
        # An area may lose its last place to others, which is no fault here.
        warnings.simplefilter("ignore", UserWarning)
        _, labels = kmeans2(places, areas, iter=20, minit="++", rng=chance)
    return np.asarray(labels, dtype=np.int64)[of]
