"""Why a stop was left out: which rule binds; and what one more hour or tank would do.

Rules are tried one after the other, from what no plan could change to what this plan chose: the
first one that leaves nothing is the one that binds.
"""

import itertools
from dataclasses import dataclass

import numpy as np

from turfmap.days.plan.filling import Ready
from turfmap.days.plan.problem import HOUR_S, Block, Problem
from turfmap.days.plan.tours import REFILL, Call, Plan, Tour, timed
from turfmap.foundations.dates import day_words

# Of the places in a tour, so many are tried: those that make the least way.
GAPS_TRIED = 3


@dataclass(frozen=True)
class Reason:
    """Why a stop is left out.

    Attributes
    ----------
    binds
        One of weather, days, no_go, tank, licence, drive, hours, price.
    """

    binds: str
    why: str


@dataclass(frozen=True)
class Short:
    """By how much a stop does not fit into a tour: of the shift or its hours [s], of a tank."""

    block: int
    hours_s: int
    tank: float


def why_left_out(ready: Ready, plan: Plan, number: int, worked: frozenset[int]) -> Reason:
    """Return which rule keeps a stop out of a plan.

    Parameters
    ----------
    worked
        Numbers of the days (from the first) on which some truck would work whatever the weather.
    """
    problem, stop = ready.problem, ready.problem.stops[number]
    days = f"{day_words(stop.first)} to {day_words(stop.last)}"
    mine = [b for b in problem.blocks if stop.first <= b.day <= stop.last]
    if not mine:
        within = range((stop.first - problem.first).days, (stop.last - problem.first).days + 1)
        if worked & set(within):
            return Reason("weather", f"no hours fit to work in are forecast from {days}")
        return Reason("days", f"no truck works from {days}")
    fixed = _for_good(ready, number, mine, days)
    if fixed is not None:
        return fixed
    shorts = [s for tour in _tours(problem, plan) if (s := _short(ready, tour, number))]
    alone = [_short(ready, Tour(n, ()), number) for n in range(len(problem.blocks))]
    if not any(short is not None and not short.hours_s for short in alone):
        return Reason("drive", "no truck can get there, do the work and be back within its hours")
    best = min(shorts, key=lambda s: (s.hours_s + (HOUR_S if s.tank else 0), s.block))
    return _nearest(problem, best, number)


def _for_good(ready: Ready, number: int, mine: list[Block], days: str) -> Reason | None:
    """Return the rule that leaves a stop no block at all, if one does."""
    problem, stop = ready.problem, ready.problem.stops[number]
    for mix, amount in stop.amounts.items():
        if not any(block.tanks.get(mix, 0.0) >= amount for block in mine):
            most = max(block.tanks.get(mix, 0.0) for block in mine)
            large = (
                f"it takes {amount:,.1f} of {mix} at once, and the largest tank holds {most:,.0f}"
            )
            none = f"no truck that works from {days} has a tank for {mix}"
            return Reason("tank", large if most else none)
    if not any(stop.licences <= block.licences for block in mine):
        lacking = ", ".join(sorted(stop.licences))
        return Reason("licence", f"no crew licensed as {lacking} works from {days}")
    fits = [
        block
        for block in mine
        if any(
            min(end, block.closes) - max(begin, block.opens) >= stop.service_s
            for begin, end in ready.runs[number]
        )
    ]
    if not fits:
        if stop.closed and any(b.closes - b.opens >= stop.service_s for b in mine):
            return Reason("no_go", f"its client lets nobody in when a truck works, from {days}")
        minutes = stop.service_s / 60
        return Reason("hours", f"its {minutes:,.0f} min fit into no hours to work in from {days}")
    able = {id(block) for n, block in enumerate(problem.blocks) if problem.may_go[n, number]}
    if not any(id(block) in able for block in fits):
        return Reason("licence", f"no truck with both the tank and the licence works from {days}")
    return None


def _tours(problem: Problem, plan: Plan) -> list[Tour]:
    """Return a tour for every block, empty where the plan leaves it idle."""
    there = {tour.block: tour for tour in plan.tours}
    return [there.get(number, Tour(number, ())) for number in range(len(problem.blocks))]


def _short(ready: Ready, tour: Tour, number: int) -> Short | None:
    """Return by how much a stop does not fit into a tour at its best place; None: never there."""
    problem, block = ready.problem, ready.problem.blocks[tour.block]
    stop = problem.stops[number]
    if not problem.may_go[tour.block, number] or not stop.first <= block.day <= stop.last:
        return None
    calls = tour.calls
    runs = [run for run in ready.runs[number] if run[0] < block.closes and run[1] > block.opens]
    found = [
        _over(problem, Tour(tour.block, (*calls[:at], Call(number, *run), *calls[at:])))
        for run in runs
        for at in _nearest_gaps(problem, tour, number)
    ]
    return min(found, key=lambda s: s.hours_s + (HOUR_S if s.tank else 0), default=None)


def _nearest_gaps(problem: Problem, tour: Tour, number: int) -> list[int]:
    """Return the places in a tour where a stop makes the least way, the nearest first."""
    depot, seconds = problem.blocks[tour.block].depot, problem.travel.seconds
    there = [problem.stops[call.stop].place if call.stop >= 0 else depot for call in tour.calls]
    before, after = np.array([depot, *there]), np.array([*there, depot])
    here = problem.stops[number].place
    way = seconds[before, here] + seconds[here, after] - seconds[before, after]
    return [int(gap) for gap in np.argsort(way, kind="stable")[:GAPS_TRIED]]


def _over(problem: Problem, tour: Tour) -> Short:
    """Return by how much a tour breaks its hours and its tanks."""
    block, one = problem.blocks[tour.block], timed(problem, tour)
    late = [
        max(0, time.ends - min(call.closes, block.closes))
        for call, time in zip(tour.calls, one.times, strict=True)
        if call.stop >= 0
    ]
    hours_s = max(0, one.away_s - block.shift_s, one.home.ends - block.returns, *late)
    return Short(tour.block, hours_s, _over_tank(problem, tour))


def _over_tank(problem: Problem, tour: Tour) -> float:
    """Return the most that a tour takes out of a tank beyond what it holds."""
    holds, used, over = problem.holds[tour.block], np.zeros(len(problem.mixes)), 0.0
    for call in tour.calls:
        used = np.zeros(len(problem.mixes)) if call == REFILL else used + problem.needs[call.stop]
        over = max(over, float((used - holds).max(initial=0.0)))
    return over


def _nearest(problem: Problem, short: Short, number: int) -> Reason:
    block = problem.blocks[short.block]
    where = f"{block.truck} on {day_words(block.day)}"
    if short.hours_s and short.tank:
        return Reason("hours", f"nearest: {where} lacks {_minutes(short)} and a refill for it")
    if short.hours_s:
        return Reason("hours", f"nearest: {where} lacks {_minutes(short)}")
    if short.tank:
        return Reason("tank", f"nearest: {where} lacks {short.tank:,.0f} in its tank and a refill")
    worth = problem.prize[number] / HOUR_S
    return Reason("price", f"{where} could go, for more driving than it weighs ({worth:g} h)")


def _minutes(short: Short) -> str:
    return f"{max(1, round(short.hours_s / 60)):,} min"


def more_with_an_hour(ready: Ready, plan: Plan, tour: Tour) -> int:
    """Return how many of the stops left out a tour could take with one more hour on its day."""
    problem, served = ready.problem, plan.served
    left = [
        number
        for number in range(len(problem.stops))
        if number not in served
        and (short := _short(ready, tour, number))
        and short.hours_s <= HOUR_S
        and not short.tank
    ]
    taken, spent = 0, 0
    for short_s in sorted(_short_s(ready, tour, number) for number in left):
        spent += short_s
        taken += spent <= HOUR_S
    return taken


def _short_s(ready: Ready, tour: Tour, number: int) -> int:
    short = _short(ready, tour, number)
    return short.hours_s if short else HOUR_S


def saved_by_a_tank(problem: Problem, tour: Tour) -> int:
    """Return the time that a tour would save with one more tank of each mix aboard [s].

    A refill is left out where the double tank lasts to the next one or home.
    """
    block = problem.blocks[tour.block]
    kept = _with_double_tanks(problem, tour)
    before, after = _road_s(problem, tour), _road_s(problem, kept)
    fewer = sum(call == REFILL for call in tour.calls) - sum(c == REFILL for c in kept.calls)
    return before - after + fewer * block.refill_s


def _with_double_tanks(problem: Problem, tour: Tour) -> Tour:
    holds = 2.0 * problem.holds[tour.block]
    trips = [
        tuple(trip)
        for is_refill, trip in itertools.groupby(tour.calls, REFILL.__eq__)
        if not is_refill
    ]
    calls: list[Call] = []
    used = np.zeros(len(problem.mixes))
    for trip in trips:
        needs = problem.needs[[call.stop for call in trip]].sum(axis=0)
        if calls and (used + needs > holds + 1e-9).any():
            calls.append(REFILL)
            used = np.zeros(len(problem.mixes))
        calls += trip
        used = used + needs
    return Tour(tour.block, tuple(calls))


def _road_s(problem: Problem, tour: Tour) -> int:
    return timed(problem, tour).driving_s
