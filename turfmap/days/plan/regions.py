"""Thousands of stops: regions of about a thousand, each with its share of the trucks.

The ground is halved along its longer side, again and again, the work on both sides in proportion to
their trucks. Each region is a search of its own, so they can run beside each other; the answers do
not depend on it. Then each seam between neighbours is opened again: the tours that touch it are
searched together, from where they are.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from multiprocessing import get_context

import numpy as np
from scipy.spatial import cKDTree

from turfmap.days.plan.filling import Ready
from turfmap.days.plan.problem import Problem, Whole
from turfmap.days.plan.rules_of_thumb import first_plan
from turfmap.days.plan.search import Effort, searched
from turfmap.days.plan.tours import Plan, Tour, plan_of

Each = Callable[[Callable[[Problem], Plan], Sequence[Problem]], list[Plan]]

# A region has about so many stops, and never fewer trucks than these.
STOPS_OF_A_REGION = 1_000
TRUCKS_OF_A_REGION = 2
# What each stop weighs beside its time on site, for the way to it [s].
WAY_S = 300
# A seam: so many stops on either side, and the tours that call at most of them.
STOPS_OF_A_SEAM = 150
TOURS_OF_A_SEAM = 16
# A seam begins from a good plan, so it takes less search than a region.
SHARE_OF_A_SEAM = 0.2


@dataclass(frozen=True)
class Region:
    """A part of a problem: numbers of its stops and blocks."""

    stops: tuple[int, ...]
    blocks: tuple[int, ...]


def planned(
    problem: Problem, effort: Effort, *, workers: int = 1, each: Each | None = None
) -> Plan:
    """Return a plan: one search for up to about a thousand stops, else by regions.

    Parameters
    ----------
    problem
        What to plan.
    effort
        How long each search is.
    workers
        How many regions are searched at a time, each in a process of its own; then nobody is told
        of progress in between. The plan is the same.
    each
        Does a work on each of some problems elsewhere, instead of `workers`.
    """
    parts = regions(problem)
    if len(parts) == 1:
        return _searched(problem, effort)
    some = [problem.of(part.stops, part.blocks) for part in parts]
    quiet = Effort(effort.iterations, effort.seed)
    if each is not None:
        plans = each(partial(_searched, effort=quiet), [part.alone() for part in some])
    elif workers == 1:
        plans = [_searched(part, effort) for part in some]
    else:
        with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
            sent = [part.alone() for part in some]
            plans = list(pool.map(_searched, sent, [quiet] * len(some)))
    tours = [t for part, plan in zip(parts, plans, strict=True) for t in lifted(plan, part)]
    plan = plan_of(tours)
    for one, other in seams(problem, parts):
        plan = _reopened(problem, plan, (parts[one], parts[other]), effort)
    return plan


def _searched(problem: Problem, effort: Effort) -> Plan:
    ready = Ready(problem)
    return searched(ready, first_plan(ready, seed=effort.seed), effort)


def lifted(plan: Plan, part: Region) -> list[Tour]:
    """Return the tours of a part with the numbers that the whole gives to stops and blocks."""
    return [
        Tour(
            part.blocks[tour.block],
            tuple(
                call._replace(stop=part.stops[call.stop]) if call.stop >= 0 else call
                for call in tour.calls
            ),
        )
        for tour in plan.tours
    ]


def _lowered(tours: Sequence[Tour], part: Region) -> Plan:
    """Return tours with the numbers that a part gives to stops and blocks."""
    stop_of = {stop: number for number, stop in enumerate(part.stops)}
    block_of = {block: number for number, block in enumerate(part.blocks)}
    return plan_of(
        [
            Tour(
                block_of[tour.block],
                tuple(
                    call._replace(stop=stop_of[call.stop]) if call.stop >= 0 else call
                    for call in tour.calls
                ),
            )
            for tour in tours
        ]
    )


def regions(problem: Problem) -> list[Region]:
    """Cut a problem into regions; one where there are few stops or few trucks."""
    trucks = sorted(
        {block.truck for block in problem.blocks}, key=lambda name: _rank(problem, name)
    )
    every = np.arange(len(problem.stops), dtype=np.int64)
    return [
        Region(tuple(stops.tolist()), _blocks_of(problem, mine))
        for stops, mine in _halved(problem, every, trucks)
    ]


def _rank(problem: Problem, truck: str) -> tuple[int, int, str]:
    """Rank trucks by what they can do, so that both halves get of those that can do most."""
    mine = [block for block in problem.blocks if block.truck == truck]
    return (-sum(len(b.licences) for b in mine), -sum(len(b.tanks) for b in mine), truck)


def _blocks_of(problem: Problem, trucks: Sequence[str]) -> tuple[int, ...]:
    mine = set(trucks)
    return tuple(n for n, block in enumerate(problem.blocks) if block.truck in mine)


def _halved(
    problem: Problem, stops: Whole, trucks: Sequence[str]
) -> list[tuple[Whole, Sequence[str]]]:
    few = len(trucks) < 2 * TRUCKS_OF_A_REGION
    if few or len(stops) < 1.5 * STOPS_OF_A_REGION:
        return [(stops, trucks)]
    xy = problem.travel.xy_m[problem.places[stops]]
    axis = int(np.argmax(np.ptp(xy, axis=0)))
    left, right = _shared_out(problem, trucks, axis)
    order = stops[np.lexsort((stops, xy[:, axis]))]
    work = np.cumsum(problem.service_s[order] + WAY_S)
    cut = int(np.searchsorted(work, work[-1] * len(left) / len(trucks)))
    return _halved(problem, order[:cut], left) + _halved(problem, order[cut:], right)


def _shared_out(
    problem: Problem, trucks: Sequence[str], axis: int
) -> tuple[Sequence[str], Sequence[str]]:
    """Share trucks between two sides: by where they are kept, else every other one."""
    depots = {block.truck: block.depot for block in reversed(problem.blocks)}
    at = {truck: float(problem.travel.xy_m[depots[truck], axis]) for truck in trucks}
    half = len(trucks) // 2
    if half % 2 and len(trucks) > 2 * TRUCKS_OF_A_REGION:
        half += 1
    if len(set(at.values())) == 1:
        mixed = [*trucks[::2], *trucks[1::2]]
        return mixed[:half], mixed[half:]
    ordered = sorted(trucks, key=lambda truck: (at[truck], trucks.index(truck)))
    return ordered[:half], ordered[half:]


def seams(problem: Problem, parts: Sequence[Region]) -> list[tuple[int, int]]:
    """Return the pairs of regions that lie next to each other, those with most in common first."""
    xy = problem.travel.xy_m[problem.places]
    of = np.empty(len(xy), dtype=np.int64)
    for number, part in enumerate(parts):
        of[list(part.stops)] = number
    shared: dict[tuple[int, int], int] = {}
    for number, part in enumerate(parts):
        others = np.flatnonzero(of != number)
        if not others.size or not part.stops:
            continue
        _, nearest = cKDTree(xy[others]).query(xy[list(part.stops)])
        for other in of[others[nearest]].tolist():
            pair = (min(number, other), max(number, other))
            shared[pair] = shared.get(pair, 0) + 1
    return sorted(shared, key=lambda pair: (-shared[pair], pair))


def _reopened(problem: Problem, plan: Plan, pair: tuple[Region, Region], effort: Effort) -> Plan:
    """Search the tours at a seam together, with what either region left out."""
    one, other = pair
    near = _near(problem, one, other)
    blocks = {*one.blocks, *other.blocks}
    mine = [tour for tour in plan.tours if tour.block in blocks]
    touching = sorted(mine, key=lambda tour: (-len(near & set(tour.stops)), tour.block))
    opened = [tour for tour in touching[:TOURS_OF_A_SEAM] if near & set(tour.stops)]
    idle = blocks - {tour.block for tour in mine}
    served = plan.served
    left = [stop for part in pair for stop in part.stops if stop not in served]
    part = Region(
        tuple(sorted({*left, *(stop for tour in opened for stop in tour.stops)})),
        tuple(sorted({*idle, *(tour.block for tour in opened)})),
    )
    ready = Ready(problem.of(part.stops, part.blocks))
    less = replace(effort, iterations=max(1, round(effort.iterations * SHARE_OF_A_SEAM)))
    found = searched(ready, _lowered(opened, part), less)
    again = {tour.block for tour in opened}
    kept = [tour for tour in plan.tours if tour.block not in again]
    return plan_of([*kept, *lifted(found, part)])


def _near(problem: Problem, one: Region, other: Region) -> set[int]:
    """Return the stops of two regions that lie nearest to the other one."""
    xy = problem.travel.xy_m[problem.places]
    found: set[int] = set()
    for here, there in ((one, other), (other, one)):
        mine = np.array(here.stops, dtype=np.int64)
        apart, _ = cKDTree(xy[list(there.stops)]).query(xy[mine])
        found |= set(mine[np.argsort(apart, kind="stable")[:STOPS_OF_A_SEAM]].tolist())
    return found
