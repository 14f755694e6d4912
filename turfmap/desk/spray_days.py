"""The plan of spray days of a place: which property, on which day, with which truck and tank."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from turfmap.days.plan.checker import checked
from turfmap.days.plan.filling import Ready
from turfmap.days.plan.moving import blocks_on, moved
from turfmap.days.plan.problem import Problem, Travel
from turfmap.days.plan.regions import planned
from turfmap.days.plan.search import Effort
from turfmap.days.plan.second_passes import Rolled, rolled
from turfmap.days.plan.told import Found, told
from turfmap.days.plan.tours import Plan, timed
from turfmap.days.plan.trucks import Truck, days_between
from turfmap.days.plan.works import Work
from turfmap.desk.engine import Engine
from turfmap.desk.spray_inputs import Given, Prepared, prepared
from turfmap.desk.spray_works import following
from turfmap.foundations.definitions import table
from turfmap.foundations.errors import input_fault

Plain = dict[str, Any]


def spray_days(path: Path, *, first: date, last: date, given: Given, effort: Effort) -> Plain:
    """Plan spray days; nothing is written.

    Parameters
    ----------
    path
        The turfmap file.
    first, last
        First and last day of the plan; what is due is judged as of the first.
    given
        Trucks, forecast, roads and the rest.
    effort
        How long to search, from which seed, and who looks on.

    Returns
    -------
    dict
        ``from, to, travel, checked, totals, days, stops, left_out, ask_first, not_stops, choose,
        second_passes, moved, trucks, cautions`` and more, all plain.

    Raises
    ------
    InputFaultsError
        If a file needs mending, or the period is empty or too long.
    """
    return plan_of_place(prepared(path, first=first, last=last, given=given), effort)


def plan_of_place(ready: Prepared, effort: Effort, *, workers: int = 1) -> Plain:
    """Search the plan of what was read, check it, and tell it; see `spray_days`."""
    return plan_told(ready, searched_plan(ready, effort, workers=workers), effort)


def searched_plan(
    ready: Prepared, effort: Effort, *, workers: int = 1, engine: Engine | None = None
) -> Rolled:
    """Search the plan of what was read, second passes included.

    Parameters
    ----------
    workers
        How many regions of a large plan are searched at a time; the plan is the same.
    engine
        Who searches them, instead of `workers` processes of this one's own.
    """

    def turn(part: Problem) -> Plan:
        each = None if engine is None else engine.each
        return planned(part, effort, workers=workers, each=each)

    return rolled(ready.problem, ready.again, turn)


def with_stop_moved(
    ready: Prepared, rolled_on: Rolled, stop: str, *, day: str, truck: str
) -> tuple[Rolled | None, Plain]:
    """Move a stop by hand: what it costs, and the plan with it.

    Parameters
    ----------
    stop
        The stop's id.
    day, truck
        Where it goes; the day as YYYY-MM-DD.

    Returns
    -------
    rolled_on : Rolled or None
        The plan with it; None where a rule forbids it.
    told : dict
        ``possible``, ``why`` (rules that forbid it, in words) and ``driving_min`` (how much more).

    Raises
    ------
    InputFaultsError
        If there is no such stop.
    """
    problem = rolled_on.problem
    number = {one.id: place for place, one in enumerate(problem.stops)}.get(stop)
    if number is None:
        raise input_fault(f"there is no stop {stop!r}", "name one of the plan")
    blocks = blocks_on(problem, truck, day)
    found = moved(Ready(problem), rolled_on.plan, number, blocks, rolled_on.intervals)
    said = {"possible": found.plan is not None, "why": list(found.why)}
    said |= {"driving_min": round(found.driving_s / 60.0, 1)}
    return (replace(rolled_on, plan=found.plan) if found.plan is not None else None), said


def plan_told(ready: Prepared, rolled_on: Rolled, effort: Effort) -> Plain:
    """Check a plan and tell it; see `spray_days`.

    Raises
    ------
    AssertionError
        If it breaks a rule: such a plan is never given out.
    """
    problem, plan = rolled_on.problem, rolled_on.plan
    broken = checked(problem, [timed(problem, tour) for tour in plan.tours], rolled_on.intervals)
    if broken:
        said = "; ".join(f"{one.where}: {one.problem}" for one in broken[:5])
        raise AssertionError(f"the plan breaks its own rules and is not given out: {said}")
    works = _all_works(ready.works, rolled_on)
    result = told(_found(ready, rolled_on, works))
    for stop in result["stops"]:
        before = ready.announced.get(stop["stop"])
        if before is not None:
            stop["was"] = {"day": before[0].isoformat(), "truck": before[1]}
    return {
        "from": problem.first.isoformat(),
        "to": problem.last.isoformat(),
        "seed": effort.seed,
        "effort": effort.iterations,
        "travel": _travel(problem.travel),
        "utc_offset_h": ready.utc_offset_h,
        "checked": {"faults": [], "stops": len(plan.served), "truck_days": len(plan.tours)},
        **result,
        "ask_first": ready.found.ask_first,
        "not_stops": ready.found.not_stops,
        "choose": ready.found.choose,
        "second_passes": _second_passes(ready, rolled_on),
        "moved": _moved(result["stops"], ready.forecast.of),
        "trucks": [_truck(truck) for truck in ready.trucks],
        "cautions": list(
            dict.fromkeys([problem.travel.basis, *ready.cautions, *_too_late(ready, rolled_on)])
        ),
    }


def _all_works(works: Sequence[Work], rolled_on: Rolled) -> list[Work]:
    """Return the work behind each stop, second passes after the others."""
    named = {work.id: work for work in works}
    tasks = table("task").by("task")
    after = following()
    found = list(works)
    for one, stop in zip(rolled_on.intervals, rolled_on.problem.stops[len(works) :], strict=True):
        before = named[one.first_pass]
        task = tasks[after[before.task["task"]][0]]
        again = replace(before, id=stop.id, task=task, first=stop.first, last=stop.last)
        found.append(replace(again, announced=None))
    return found


def _found(ready: Prepared, rolled_on: Rolled, works: Sequence[Work]) -> Found:
    days = days_between(ready.problem.first, ready.problem.last)
    workable = {n for n, day in enumerate(days) if any(t.works_on(day) for t in ready.trucks)}
    return Found(
        rolled_on.problem,
        rolled_on.plan,
        works,
        ready.lon_lat,
        rolled_on.intervals,
        ready.forecast.of,
        {truck.name: truck.crew for truck in ready.trucks},
        {work.mix: work.unit for work in works if work.mix},
        frozenset(workable),
    )


def _travel(travel: Travel) -> Plain:
    return {
        "basis": travel.basis,
        "is_estimated": travel.is_estimated,
        "source": travel.source,
    }


def _second_passes(ready: Prepared, rolled_on: Rolled) -> list[Plain]:
    problem, served = rolled_on.problem, rolled_on.plan.served
    number = {stop.id: n for n, stop in enumerate(problem.stops)}
    days = {
        stop: problem.blocks[tour.block].day for tour in rolled_on.plan.tours for stop in tour.stops
    }
    works = {work.id: work for work in ready.works}
    return [
        {
            "stop": one.first_pass,
            "second": one.second_pass,
            "property": works[one.first_pass].site.name,
            "task": following()[works[one.first_pass].task["task"]][0],
            "first": problem.stops[number[one.second_pass]].first.isoformat(),
            "last": problem.stops[number[one.second_pass]].last.isoformat(),
            "done": days[number[one.first_pass]].isoformat(),
            "planned": number[one.second_pass] in served,
        }
        for one in rolled_on.intervals
    ]


def _too_late(ready: Prepared, rolled_on: Rolled) -> list[str]:
    """Say which second passes the season leaves no day for, however it is planned."""
    stops = [rolled_on.problem.stops[number].id for number in sorted(rolled_on.plan.served)]
    followed = {one.first_pass for one in rolled_on.intervals}
    return [
        f"{stop}: so late that its second pass would fall after the season's last day for it;"
        " no second pass is planned."
        for stop in stops
        if stop in ready.again and stop not in followed
    ]


def _moved(stops: Sequence[Plain], weather: Callable[[date], str]) -> list[Plain]:
    """Return the stops whose clients were told another day, with that day's weather."""
    return [
        {
            "stop": stop["stop"],
            "property": stop["property"],
            "from": stop["was"],
            "to": {"day": stop["day"], "truck": stop["truck"]} if stop["day"] else None,
            "weather": weather(date.fromisoformat(stop["was"]["day"])),
        }
        for stop in stops
        if stop["was"] and stop["was"]["day"] != stop["day"]
    ]


def _truck(truck: Truck) -> Plain:
    tanks = [{"mix": t.mix or None, "size": t.size, "unit": t.unit} for t in truck.tanks]
    return {
        "truck": truck.name,
        "crew": truck.crew,
        "depot": {"longitude": truck.longitude, "latitude": truck.latitude},
        "starts": _clock(truck.starts_s),
        "ends": _clock(truck.ends_s),
        "shift_h": truck.shift_s / 3_600,
        "tanks": tanks,
        "licences": sorted(truck.licences),
        "days": "; ".join(DAY_NAMES[day] for day in sorted(truck.weekdays)),
    }


DAY_NAMES = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def _clock(seconds: int) -> str:
    return f"{seconds // 3_600:02d}:{seconds // 60 % 60:02d}"
