"""When a stop may be worked at: its days without the hours in which its client lets nobody in.

A closed day or hour counts only where it takes hours that some truck works: else it is no hole,
and days run on over it. Each hole costs the search a copy of the stop.
"""

from bisect import bisect_left
from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np

from turfmap.days.plan.problem import DAY_S, Problem, Span, Stop, Whole


def openings(problem: Problem) -> list[list[Span]]:
    """Return the runs of time in which each stop may be worked at, earliest first."""
    worked = worked_hours(problem)
    return [opening(problem, stop, worked) for stop in problem.stops]


def worked_hours(problem: Problem) -> list[Span]:
    """Return the hours in which any truck works, joined where they meet, earliest first."""
    found: list[Span] = []
    for opens, closes in sorted({(block.opens, block.closes) for block in problem.blocks}):
        if found and opens <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], closes))
        else:
            found.append((opens, closes))
    return found


def opening(problem: Problem, stop: Stop, worked: Sequence[Span]) -> list[Span]:
    """Return the runs of time in which a stop may be worked at, earliest first."""
    first, last = max(stop.first, problem.first), min(stop.last, problem.last)
    begin, end = problem.day_start(first), problem.day_start(last) + DAY_S
    runs = []
    for start, stops in holes(problem, stop, first, last):
        if not _touches(worked, start, stops):
            continue
        if start > begin:
            runs.append((begin, start))
        begin = max(begin, stops)
    if begin < end:
        runs.append((begin, end))
    return [run for run in runs if _touches(worked, *run)]


def holes(problem: Problem, stop: Stop, first: date, last: date) -> list[Span]:
    """Return the closed hours of a stop from a day to another, earliest first."""
    found = []
    for number in range((last - first).days + 1):
        day = first + timedelta(days=number)
        start = problem.day_start(day)
        found += [(start + one.from_s, start + one.to_s) for one in stop.closed if one.is_on(day)]
    return sorted(found)


def _touches(worked: Sequence[Span], start: int, end: int) -> bool:
    """Return whether some worked hours overlap a span."""
    place = bisect_left(worked, (end, 0)) - 1
    return place >= 0 and worked[place][1] > start


def padded(runs: Sequence[Sequence[Span]]) -> tuple[Whole, Whole]:
    """Return the beginnings and ends of runs as arrays, shape (stops, most runs); none is empty."""
    width = max((len(mine) for mine in runs), default=0) or 1
    begins = np.full((len(runs), width), 1, dtype=np.int64)
    ends = np.zeros((len(runs), width), dtype=np.int64)
    for number, mine in enumerate(runs):
        for place, (begin, end) in enumerate(mine):
            begins[number, place], ends[number, place] = begin, end
    return begins, ends
