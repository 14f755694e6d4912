"""Second passes: planned by a horizon that rolls on, once the day of the first pass stands.

The days are planned in turns. What a turn plans stands; each first pass in it makes a new stop,
whose days are the first pass's day and the interval; the next turns plan it.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

from turfmap.days.plan.checker import Interval
from turfmap.days.plan.problem import Problem, Stop
from turfmap.days.plan.regions import Region, lifted
from turfmap.days.plan.tours import Plan, Tour, plan_of
from turfmap.foundations.dates import on_month_day

# Days of a turn: less than any interval, so that a turn never has to plan both passes.
DAYS_OF_A_TURN = 10


@dataclass(frozen=True)
class Again:
    """How many days after a first pass the second may come, and what it is called.

    Attributes
    ----------
    closes
        Month and day on which the season of the second pass ends ("12-10"), whatever the interval;
        None where it has no such day.
    """

    from_d: int
    to_d: int
    name: str
    closes: str | None = None

    def days_after(self, done: date) -> tuple[date, date]:
        """Return the first and last day for it; the last lies before the first if it is too late.

        Parameters
        ----------
        done
            The day of the first pass.
        """
        first, last = done + timedelta(days=self.from_d), done + timedelta(days=self.to_d)
        if self.closes is None:
            return first, last
        ends = on_month_day(done.year, self.closes)
        return first, min(last, ends if ends >= done else on_month_day(done.year + 1, self.closes))


@dataclass(frozen=True)
class Rolled:
    """A plan of several turns.

    Attributes
    ----------
    problem
        With the second passes among its stops, after the others.
    intervals
        What each second pass has to keep to.
    """

    problem: Problem
    plan: Plan
    intervals: tuple[Interval, ...]


def rolled(
    problem: Problem, again: Mapping[str, Again], plan_turn: Callable[[Problem], Plan]
) -> Rolled:
    """Plan the days of a problem in turns, second passes included.

    Parameters
    ----------
    problem
        Without any second pass of a first pass in it.
    again
        The second pass of each first pass, by the first pass's stop.
    plan_turn
        Plans one turn.
    """
    stops, tours, intervals = list(problem.stops), [], []
    done: set[int] = set()
    for begins, ends in _turns(problem, again):
        open_now = [
            number
            for number, stop in enumerate(stops)
            if number not in done and stop.first <= ends and stop.last >= begins
        ]
        blocks = [n for n, block in enumerate(problem.blocks) if begins <= block.day <= ends]
        part = Region(tuple(open_now), tuple(blocks))
        turn = replace(problem, stops=tuple(stops), last=ends).of(part.stops, part.blocks)
        for tour in lifted(plan_turn(turn), part):
            tours.append(tour)
            for number in tour.stops:
                done.add(number)
                second = again.get(stops[number].id)
                if second is None:
                    continue
                first, last = second.days_after(_day(problem, tour))
                if first <= last:
                    intervals.append(_interval(stops[number], second))
                    stops.append(_second(stops[number], second, first, last))
    return Rolled(replace(problem, stops=tuple(stops)), plan_of(tours), tuple(intervals))


def _turns(problem: Problem, again: Mapping[str, Again]) -> list[tuple[date, date]]:
    """Return the first and last day of each turn; one turn where no second pass can fall in it."""
    days = (problem.last - problem.first).days + 1
    soonest = min((one.from_d for one in again.values()), default=days)
    if soonest >= days:
        return [(problem.first, problem.last)]
    step = min(DAYS_OF_A_TURN, soonest)
    starts = [problem.first + timedelta(days=number) for number in range(0, days, step)]
    return [(day, min(day + timedelta(days=step - 1), problem.last)) for day in starts]


def _day(problem: Problem, tour: Tour) -> date:
    return problem.blocks[tour.block].day


def _interval(stop: Stop, second: Again) -> Interval:
    return Interval(stop.id, second.name, second.from_d, second.to_d)


def _second(stop: Stop, second: Again, first: date, last: date) -> Stop:
    return replace(stop, id=second.name, first=first, last=last, priority=1, announced=None)
