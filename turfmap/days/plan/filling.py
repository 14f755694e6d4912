"""Fill one block by a rule of thumb: always the stop that a rule likes best of those that fit.

Every hard rule is kept: hours, days, tanks, licence, the truck's shift and its way home.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from turfmap.days.plan.openings import openings, padded
from turfmap.days.plan.problem import Floats, Marks, Problem, Whole
from turfmap.days.plan.tours import REFILL, Call, Tour

# Past any time of a plan [s]: a stop that does not fit.
NEVER = np.iinfo(np.int64).max // 4


@dataclass(frozen=True, eq=False)
class Ready:
    """A problem with what filling asks for again and again."""

    problem: Problem

    @cached_property
    def runs(self) -> list[list[tuple[int, int]]]:
        """When each stop may be worked at."""
        return openings(self.problem)

    @cached_property
    def run_edges(self) -> tuple[Whole, Whole]:
        """The same as arrays, shape (stops, most runs)."""
        return padded(self.runs)

    @cached_property
    def last_end(self) -> Whole:
        """When each stop's last run ends [s], 0 if it has none, shape (stops,)."""
        found: Whole = self.run_edges[1].max(axis=1)
        return found


@dataclass
class Reach:
    """What can be gone to next, each shape (stops,).

    Attributes
    ----------
    ends
        When the work would be over [s]; `NEVER` where it does not fit.
    drive_s
        Driving to get there, by way of a refill where one is needed.
    refills
        Whether one is needed.
    """

    starts: Whole
    ends: Whole
    drive_s: Whole
    refills: Marks

    @property
    def fits(self) -> Marks:
        """Which stops fit."""
        found: Marks = self.ends < NEVER
        return found


# From what is in reach to the rank of each stop, the smallest first.
Rule = Callable[[Reach], Floats]


@dataclass
class Filling:
    """A block while it is filled.

    Attributes
    ----------
    left
        What is left in the tanks, shape (mixes,).
    leaves
        When the truck leaves its depot; None until it has a first stop.
    """

    ready: Ready
    block: int
    left: Floats
    at: int
    now: int
    leaves: int | None = None
    refilled: int = 0

    @classmethod
    def begun(cls, ready: Ready, block: int) -> "Filling":
        """Return a block at its beginning: the truck at its depot with full tanks."""
        here = ready.problem.blocks[block]
        return cls(ready, block, ready.problem.holds[block].copy(), here.depot, here.leaves)

    def reach(self, pending: Marks) -> Reach:
        """Return what of the pending stops fits next."""
        problem, block = self.ready.problem, self.ready.problem.blocks[self.block]
        seconds, places = problem.travel.seconds, problem.places
        refills = (problem.needs > self.left + 1e-9).any(axis=1)
        round_about = seconds[self.at, block.depot] + seconds[block.depot, places]
        drive = np.where(refills, round_about, seconds[self.at, places])
        arrives = self.now + drive + np.where(refills, block.refill_s, 0)
        starts = self._starts(arrives)
        ends = starts + problem.service_s
        home = ends + seconds[places, block.depot]
        leaves = starts - drive if self.leaves is None else self.leaves
        fits = pending & problem.may_go[self.block] & (starts < NEVER)
        fits &= (ends <= block.closes) & (home <= block.returns)
        fits &= home - leaves <= block.shift_s
        fits &= ~refills | (self.refilled < block.most_refills)
        return Reach(starts, np.where(fits, ends, NEVER), drive, np.asarray(refills))

    def _starts(self, arrives: Whole) -> Whole:
        """Return when work could begin at each stop, in the first run that is long enough."""
        problem, block = self.ready.problem, self.ready.problem.blocks[self.block]
        begins, ends = self.ready.run_edges
        starts = np.maximum(np.maximum(arrives[:, None], begins), block.opens)
        long_enough = starts + problem.service_s[:, None] <= ends
        found: Whole = np.where(long_enough, starts, NEVER).min(axis=1)
        return found

    def go(self, stop: int, reach: Reach) -> list[Call]:
        """Go to a stop that fits and return the calls that it takes."""
        problem = self.ready.problem
        calls = []
        if reach.refills[stop]:
            self.left = problem.holds[self.block].copy()
            self.refilled += 1
            calls.append(REFILL)
        if self.leaves is None:
            self.leaves = int(reach.starts[stop] - reach.drive_s[stop])
        start = int(reach.starts[stop])
        self.left = self.left - problem.needs[stop]
        self.at, self.now = int(problem.places[stop]), int(reach.ends[stop])
        run = next(run for run in self.ready.runs[stop] if run[0] <= start and self.now <= run[1])
        return [*calls, Call(stop, *run)]


def filled(ready: Ready, block: int, pending: Marks, rule: Rule) -> Tour:
    """Fill a block with pending stops until none fits any more; they are taken off `pending`."""
    filling = Filling.begun(ready, block)
    calls: list[Call] = []
    while True:
        reach = filling.reach(pending)
        if not reach.fits.any():
            return Tour(block, tuple(calls))
        rank = np.where(reach.fits, rule(reach), np.inf)
        stop = int(np.argmin(rank))
        calls += filling.go(stop, reach)
        pending[stop] = False
