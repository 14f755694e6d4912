"""What it costs to come on another day: one stop moved by hand, before anybody decides."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from turfmap.days.plan.checker import Interval, checked
from turfmap.days.plan.filling import Ready
from turfmap.days.plan.problem import Problem
from turfmap.days.plan.tours import REFILL, Call, Plan, Tour, plan_of, timed
from turfmap.days.plan.weighing import driving_s, tour_driving_s


@dataclass(frozen=True)
class Move:
    """A stop moved to another truck-day.

    Attributes
    ----------
    plan
        The plan with it; None where some rule forbids it.
    why
        Which rules forbid it.
    driving_s
        How much more the plan drives with it [s]; less if negative.
    """

    plan: Plan | None
    why: tuple[str, ...] = ()
    driving_s: int = 0


def moved(
    ready: Ready,
    plan: Plan,
    number: int,
    blocks: Sequence[int],
    intervals: Iterable[Interval] = (),
) -> Move:
    """Move a stop into one of some blocks, where it makes the least way and breaks no rule.

    Parameters
    ----------
    number
        The stop; one that was left out comes in.
    blocks
        Blocks of the truck and the day that it is moved to.
    """
    problem, promised = ready.problem, tuple(intervals)
    kept = [_without(tour, number) for tour in plan.tours]
    why: dict[str, None] = {}
    found: list[tuple[int, int, Plan]] = []
    for block in blocks:
        before = next((tour for tour in kept if tour.block == block), Tour(block, ()))
        rest = [tour for tour in kept if tour.block != block]
        for tour in _with(ready, before, number):
            broken = checked(problem, [timed(problem, tour)])
            why |= dict.fromkeys(one.problem for one in broken)
            if not broken:
                found.append((tour_driving_s(problem, tour), len(found), plan_of([*rest, tour])))
    for _, _, candidate in sorted(found, key=lambda one: one[:2]):
        broken = checked(problem, [timed(problem, t) for t in candidate.tours], promised)
        if not broken:
            more = driving_s(problem, candidate) - driving_s(problem, plan)
            return Move(candidate, (), more)
        why |= dict.fromkeys(one.problem for one in broken)
    return Move(None, tuple(why) or ("that truck does not work then",))


def blocks_on(problem: Problem, truck: str, day: str) -> list[int]:
    """Return the blocks of a truck on a day (YYYY-MM-DD)."""
    return [
        number
        for number, block in enumerate(problem.blocks)
        if block.truck == truck and block.day.isoformat() == day
    ]


def _without(tour: Tour, number: int) -> Tour:
    """Return a tour without a stop, and without a refill that nothing follows or leads to."""
    calls: list[Call] = []
    for call in tour.calls:
        is_idle = call == REFILL and (not calls or calls[-1] == REFILL)
        if call.stop != number and not is_idle:
            calls.append(call)
    while calls and calls[-1] == REFILL:
        calls.pop()
    return Tour(tour.block, tuple(calls))


def _with(ready: Ready, tour: Tour, number: int) -> Iterator[Tour]:
    """Yield a tour with a stop at every place in it, in each of its runs, by a refill or not."""
    for run in ready.runs[number]:
        call = Call(number, *run)
        for gap in range(len(tour.calls) + 1):
            head, tail = tour.calls[:gap], tour.calls[gap:]
            yield Tour(tour.block, (*head, call, *tail))
            if head and head[-1] != REFILL:
                yield Tour(tour.block, (*head, REFILL, call, *tail))
            if tail and tail[0] != REFILL:
                yield Tour(tour.block, (*head, call, REFILL, *tail))
