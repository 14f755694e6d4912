"""A plan, and its clock: when a truck leaves, arrives, waits, works, fills up and is back.

A truck leaves as late as it can without coming back later than if it had left at once, so it waits
as little as its stops allow.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from turfmap.days.plan.problem import Problem


class Call(NamedTuple):
    """One thing that a truck goes to: a stop within its hours [s], or its depot to fill up (-1)."""

    stop: int
    opens: int
    closes: int


REFILL = Call(-1, 0, 0)


@dataclass(frozen=True)
class Tour:
    """What a truck does in one block, in order: from its depot with full tanks, and back to it."""

    block: int
    calls: tuple[Call, ...]

    @property
    def stops(self) -> list[int]:
        """The stops, in order."""
        return [call.stop for call in self.calls if call.stop >= 0]


@dataclass(frozen=True)
class Plan:
    """Tours, at most one a block, by block."""

    tours: tuple[Tour, ...]

    @property
    def served(self) -> set[int]:
        """The stops that the plan serves."""
        return {stop for tour in self.tours for stop in tour.stops}


def plan_of(tours: Sequence[Tour]) -> Plan:
    """Return a plan of those tours that call anywhere, by block."""
    return Plan(tuple(sorted((tour for tour in tours if tour.stops), key=lambda tour: tour.block)))


class Time(NamedTuple):
    """When a call is reached, begun and over [s], and how far it is from the one before [s, m]."""

    arrives: int
    starts: int
    ends: int
    drive_s: int
    metres: int


@dataclass(frozen=True)
class Timed:
    """A tour with its times [s].

    Attributes
    ----------
    times
        One for each call.
    home
        The leg back to the depot: it arrives, starts and ends at the same time.
    """

    tour: Tour
    leaves: int
    times: tuple[Time, ...]
    home: Time

    @property
    def driving_s(self) -> int:
        """Time on the road."""
        return sum(time.drive_s for time in self.times) + self.home.drive_s

    @property
    def metres(self) -> int:
        """How far it drives."""
        return sum(time.metres for time in self.times) + self.home.metres

    @property
    def waiting_s(self) -> int:
        """Time in front of closed gates."""
        return sum(time.starts - time.arrives for time in self.times)

    @property
    def away_s(self) -> int:
        """From leaving the depot until it is back."""
        return self.home.ends - self.leaves


def timed(problem: Problem, tour: Tour) -> Timed:
    """Give a tour its times.

    Times that its hours do not allow come out late; `turfmap.days.plan.checker` finds them.
    """
    block = problem.blocks[tour.block]
    places = [block.depot, *(_place(problem, tour, call) for call in tour.calls), block.depot]
    drives = [
        (int(problem.travel.seconds[here, there]), int(problem.travel.metres[here, there]))
        for here, there in itertools.pairwise(places)
    ]
    first = _forward(problem, tour, drives, block.leaves)
    leaves = _latest(problem, tour, drives, first[-1].ends)
    times = _forward(problem, tour, drives, max(leaves, block.leaves))
    return Timed(tour, times[0].arrives - drives[0][0], tuple(times[:-1]), times[-1])


def _place(problem: Problem, tour: Tour, call: Call) -> int:
    return problem.stops[call.stop].place if call.stop >= 0 else problem.blocks[tour.block].depot


def _takes(problem: Problem, tour: Tour, call: Call) -> int:
    if call.stop >= 0:
        return problem.stops[call.stop].service_s
    return problem.blocks[tour.block].refill_s


def _forward(
    problem: Problem, tour: Tour, drives: Sequence[tuple[int, int]], leaves: int
) -> list[Time]:
    """Return the earliest times for a time of leaving, the way home last."""
    block = problem.blocks[tour.block]
    now, found = leaves, []
    for call, (drive_s, metres) in zip(tour.calls, drives, strict=False):
        arrives = now + drive_s
        opens = max(call.opens, block.opens) if call.stop >= 0 else arrives
        starts = max(arrives, opens)
        now = starts + _takes(problem, tour, call)
        found.append(Time(arrives, starts, now, drive_s, metres))
    drive_s, metres = drives[-1]
    found.append(Time(now + drive_s, now + drive_s, now + drive_s, drive_s, metres))
    return found


def _latest(problem: Problem, tour: Tour, drives: Sequence[tuple[int, int]], returns: int) -> int:
    """Return the latest time of leaving for a time of coming back."""
    block = problem.blocks[tour.block]
    now = returns - drives[-1][0]
    for call, (drive_s, _) in zip(reversed(tour.calls), reversed(drives[:-1]), strict=True):
        if call.stop >= 0:
            now = min(now, call.closes, block.closes)
        now -= _takes(problem, tour, call) + drive_s
    return now
