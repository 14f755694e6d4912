"""Look a finished plan over, by nothing but the rules: no plan is given out with a fault in it.

It shares no code with what makes plans: it reads days, hours, tanks and licences from the stops and
blocks themselves, and has a clock of its own, forward for the earliest times and backward for the
latest, so that a truck that could leave later is not said to be away too long.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from turfmap.days.plan.problem import Block, Problem, Stop
from turfmap.days.plan.tours import Timed

# Hundredths of a gallon lie within how a tank is read.
PLAY = 0.01


@dataclass(frozen=True)
class Broken:
    """A rule that a plan breaks.

    Attributes
    ----------
    rule
        One of twice, days, closed, block, away, shift, tank, refills, licence, clock, overlap,
        interval.
    where
        Which truck, day and stop.
    problem
        What is wrong, in words.
    """

    rule: str
    where: str
    problem: str


@dataclass(frozen=True)
class Interval:
    """A second pass and the days from its first pass that it must keep to."""

    first_pass: str
    second_pass: str
    from_d: int
    to_d: int


def checked(
    problem: Problem, tours: Sequence[Timed], intervals: Iterable[Interval] = ()
) -> list[Broken]:
    """Return every rule that a plan with its times breaks; none is what is wanted."""
    found = _twice(problem, tours)
    for one in tours:
        block = problem.blocks[one.tour.block]
        found += _times(problem, one, block)
        found += _away(problem, one, block)
        found += _tanks(problem, one, block)
        for call, time in zip(one.tour.calls, one.times, strict=True):
            if call.stop >= 0:
                stop = problem.stops[call.stop]
                where = f"{block.truck}, {block.day}, {stop.id}"
                found += _at_stop(problem, stop, block, (time.starts, time.ends), where)
    return found + _overlaps(problem, tours) + _intervals(problem, tours, intervals)


def _twice(problem: Problem, tours: Sequence[Timed]) -> list[Broken]:
    seen: set[str] = set()
    blocks: set[int] = set()
    found = []
    for one in tours:
        if one.tour.block in blocks:
            found.append(Broken("twice", f"block {one.tour.block}", "two tours have one block"))
        blocks.add(one.tour.block)
        for call in one.tour.calls:
            if call.stop < 0:
                continue
            name = problem.stops[call.stop].id
            if name in seen:
                found.append(Broken("twice", name, "it is served twice"))
            seen.add(name)
    return found


def _times(problem: Problem, one: Timed, block: Block) -> list[Broken]:
    """Find times that the road or the work does not allow."""
    found = []
    here, now = block.depot, one.leaves
    for call, time in zip(one.tour.calls, one.times, strict=True):
        there = problem.stops[call.stop].place if call.stop >= 0 else block.depot
        takes = problem.stops[call.stop].service_s if call.stop >= 0 else block.refill_s
        where = f"{block.truck}, {block.day}, call {call.stop}"
        if time.arrives < now + problem.travel.seconds[here, there]:
            found.append(Broken("clock", where, "it arrives before it can"))
        if time.starts < time.arrives or time.ends < time.starts + takes:
            found.append(Broken("clock", where, "the work is shorter than it takes"))
        here, now = there, time.ends
    if one.home.ends < now + problem.travel.seconds[here, block.depot]:
        found.append(Broken("clock", f"{block.truck}, {block.day}", "it is home before it can"))
    return found


def _away(problem: Problem, one: Timed, block: Block) -> list[Broken]:
    where = f"{block.truck}, {block.day}"
    found = []
    if one.leaves < block.leaves or one.home.ends > block.returns:
        found.append(Broken("away", where, "it is away outside its hours"))
    if one.home.ends - one.leaves > block.shift_s:
        found.append(Broken("shift", where, "it is away longer than its shift"))
    earliest, latest = own_clock(problem, one, block)
    if earliest > block.returns or latest < block.leaves or earliest - latest > block.shift_s:
        found.append(Broken("shift", where, "by the checker's own clock it cannot be done"))
    return found


def own_clock(problem: Problem, one: Timed, block: Block) -> tuple[int, int]:
    """Return when a truck could be home at the earliest, and when it must leave at the latest.

    Both by the order of its calls and the hours of its stops alone, whatever times it was given.
    """
    day_s = (block.day - problem.first).days * 86_400
    there = [
        problem.stops[call.stop].place if call.stop >= 0 else block.depot for call in one.tour.calls
    ]
    legs = list(zip([block.depot, *there], [*there, block.depot], strict=True))
    drives = [int(problem.travel.seconds[leg]) for leg in legs]
    now = block.leaves
    for call, drive_s in zip(one.tour.calls, drives, strict=False):
        now += drive_s
        if call.stop < 0:
            now += block.refill_s
            continue
        now = _earliest(problem.stops[call.stop], block, day_s, now)
    home = now + drives[-1]
    now = home - drives[-1]
    for call, drive_s in zip(reversed(one.tour.calls), reversed(drives[:-1]), strict=True):
        if call.stop < 0:
            now -= block.refill_s
        else:
            now = _latest(problem.stops[call.stop], block, day_s, now)
        now -= drive_s
    return home, now


def _earliest(stop: Stop, block: Block, day_s: int, arrives: int) -> int:
    """Return when the work at a stop would be over; past the block's end if it does not fit."""
    starts = max(arrives, block.opens)
    moved = True
    while moved:
        moved = False
        for one in stop.closed:
            closed = one.is_on(block.day)
            from_s, to_s = day_s + one.from_s, day_s + one.to_s
            if closed and starts < to_s and starts + stop.service_s > from_s:
                starts, moved = to_s, True
    return starts + stop.service_s


def _latest(stop: Stop, block: Block, day_s: int, ends: int) -> int:
    """Return when the work at a stop must begin to be over by a time."""
    starts = min(ends, block.closes) - stop.service_s
    moved = True
    while moved:
        moved = False
        for one in stop.closed:
            closed = one.is_on(block.day)
            from_s, to_s = day_s + one.from_s, day_s + one.to_s
            if closed and starts < to_s and starts + stop.service_s > from_s:
                starts, moved = from_s - stop.service_s, True
    return starts


def _at_stop(
    problem: Problem, stop: Stop, block: Block, work: tuple[int, int], where: str
) -> list[Broken]:
    starts, ends = work
    found = []
    day = problem.first + timedelta(days=starts // 86_400)
    if not stop.first <= day <= stop.last or day != block.day:
        found.append(Broken("days", where, f"{day} is not one of its days"))
    if starts < block.opens or ends > block.closes:
        found.append(Broken("block", where, "its work lies outside the hours to work in"))
    midnight = (day - problem.first).days * 86_400
    for one in stop.closed:
        shut = one.is_on(day) and starts < midnight + one.to_s and ends > midnight + one.from_s
        if shut:
            found.append(Broken("closed", where, "its client lets nobody in then"))
    missing = sorted(stop.licences - block.licences)
    if missing:
        found.append(Broken("licence", where, f"the crew lacks {', '.join(missing)}"))
    return found


def _tanks(problem: Problem, one: Timed, block: Block) -> list[Broken]:
    where = f"{block.truck}, {block.day}"
    found = []
    refills = sum(call.stop < 0 for call in one.tour.calls)
    if refills > block.most_refills:
        found.append(Broken("refills", where, f"it fills up {refills} times"))
    used: dict[str, float] = {}
    for call in one.tour.calls:
        if call.stop < 0:
            used = {}
            continue
        for mix, amount in problem.stops[call.stop].amounts.items():
            used[mix] = used.get(mix, 0.0) + amount
            if used[mix] > block.tanks.get(mix, 0.0) + PLAY:
                said = f"it needs {used[mix]:.2f} of {mix} before it fills up"
                found.append(Broken("tank", f"{where}, {problem.stops[call.stop].id}", said))
    return found


def _overlaps(problem: Problem, tours: Sequence[Timed]) -> list[Broken]:
    """Find a truck that is out twice at once."""
    out: dict[str, list[tuple[int, int]]] = {}
    for one in tours:
        truck = problem.blocks[one.tour.block].truck
        out.setdefault(truck, []).append((one.leaves, one.home.ends))
    return [
        Broken("overlap", truck, "it is out twice at the same time")
        for truck, mine in out.items()
        for before, after in zip(sorted(mine), sorted(mine)[1:], strict=False)
        if after[0] < before[1]
    ]


def _intervals(
    problem: Problem, tours: Sequence[Timed], intervals: Iterable[Interval]
) -> list[Broken]:
    days: Mapping[str, date] = {
        problem.stops[call.stop].id: problem.blocks[one.tour.block].day
        for one in tours
        for call in one.tour.calls
        if call.stop >= 0
    }
    found = []
    for one in intervals:
        done, again = days.get(one.first_pass), days.get(one.second_pass)
        if again is None:
            continue
        if done is None or not one.from_d <= (again - done).days <= one.to_d:
            problem_words = f"not {one.from_d} to {one.to_d} days after its first pass"
            found.append(Broken("interval", one.second_pass, problem_words))
    return found
