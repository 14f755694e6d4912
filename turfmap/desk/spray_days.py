"""The plan of spray days of a place: which property, on which day, with which truck and tank."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np

from turfmap.days.plan.checker import checked
from turfmap.days.plan.filling import Ready
from turfmap.days.plan.moving import blocks_on, moved
from turfmap.days.plan.problem import Floats, Problem, Travel
from turfmap.days.plan.regions import planned
from turfmap.days.plan.search import Effort
from turfmap.days.plan.second_passes import Again, Rolled, rolled
from turfmap.days.plan.told import Found, told
from turfmap.days.plan.tours import timed
from turfmap.days.plan.trucks import Truck, blocks_of, days_between, loaded, truck_of
from turfmap.days.plan.works import Work, parted
from turfmap.days.quantities import Rate
from turfmap.days.travel import EstimatedTimes, TravelTimes
from turfmap.days.travel_roads import Roads, RoadTimes
from turfmap.desk.due import due
from turfmap.desk.spray_forecast import Forecast, forecast_of
from turfmap.desk.spray_sites import read_sites
from turfmap.desk.spray_works import Asked, Works, works_of
from turfmap.foundations.dates import day_words
from turfmap.foundations.definitions import table
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.season.weather import Site as WeatherSite
from turfmap.store.plan_file import read_announced
from turfmap.store.roads import read_roads
from turfmap.store.trucks import read_trucks

Plain = dict[str, Any]
MOST_DAYS = 92
DEGREES_AN_HOUR = 15.0
LOOK = (
    "A day of the plan is no go: on the day, look at the wind, the label and the ground with"
    " turfmap check before anything is opened."
)


@dataclass(frozen=True)
class Given:
    """What the planner gives beside the place.

    Attributes
    ----------
    trucks
        The truck file.
    forecast, weather
        A forecast for the days of the plan, and a weather record for what is due.
    roads
        An extract of the open street map; None: times are estimated.
    announced
        An earlier plan whose days the clients were told.
    what_if
        Things to suppose; see `turfmap.desk.due.due`.
    """

    trucks: Path
    forecast: Path | None = None
    weather: Path | None = None
    roads: Path | None = None
    announced: Path | None = None
    tasks: tuple[str, ...] = ()
    uses: Mapping[str, str] = field(default_factory=dict)
    carrier: Rate | None = None
    what_if: Sequence[tuple[str, str]] = ()


@dataclass(frozen=True, eq=False)
class Prepared:
    """All that a plan is made from, read and reckoned.

    Attributes
    ----------
    works
        The work behind each stop of the problem.
    again
        The second pass of each first pass.
    """

    problem: Problem
    works: list[Work]
    lon_lat: Floats
    again: dict[str, Again]
    trucks: list[Truck]
    forecast: Forecast
    found: Works
    announced: Mapping[str, tuple[date, str]]
    utc_offset_h: float
    cautions: list[str]


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


def prepared(path: Path, *, first: date, last: date, given: Given) -> Prepared:
    """Read all that a plan is made from; see `spray_days`."""
    if not 0 <= (last - first).days < MOST_DAYS:
        raise input_fault(
            f"{day_words(first)} to {day_words(last)} is no period to plan",
            f"give from 1 to {MOST_DAYS} days",
        )
    trucks = _trucks(given.trucks)
    asked = Asked(first, last, given.tasks, given.uses, given.carrier)
    judged = due(path, as_of=first, weather_file=given.weather, what_if=given.what_if)
    found = works_of(path, judged["zones"], read_sites(path), asked)
    announced = read_announced(given.announced) if given.announced else {}
    days = days_between(first, last)
    trucks = _loaded(trucks, found.works)
    depot = trucks[0]
    utc_offset_h = float(round(depot.longitude / DEGREES_AN_HOUR))
    site = WeatherSite(depot.latitude, depot.longitude)
    forecast = forecast_of(given.forecast, days, site=site, utc_offset_h=utc_offset_h)
    works = [_told_before(work, announced) for work in _parted(found.works, trucks, forecast, days)]
    lon_lat, places, depots = _places(works, trucks)
    blocks = [
        block
        for truck, place in zip(trucks, depots, strict=True)
        for block in blocks_of(truck, depot=place, days=days, fit=forecast.fit)
    ]
    stops = tuple(work.stop(place) for work, place in zip(works, places, strict=True))
    travel = _times(given.roads, lon_lat).between(lon_lat)
    problem = Problem(first, last, stops, tuple(blocks), travel)
    cautions = [LOOK, *found.cautions, *forecast.notes, *judged["cautions"]]
    return Prepared(
        problem,
        works,
        lon_lat,
        _again(works),
        trucks,
        forecast,
        found,
        announced,
        utc_offset_h,
        cautions,
    )


def plan_of_place(ready: Prepared, effort: Effort) -> Plain:
    """Search the plan of what was read, check it, and tell it; see `spray_days`."""
    return plan_told(ready, searched_plan(ready, effort), effort)


def searched_plan(ready: Prepared, effort: Effort) -> Rolled:
    """Search the plan of what was read, second passes included."""
    return rolled(ready.problem, ready.again, lambda turn: planned(turn, effort))


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
        "moved": _moved(result["stops"]),
        "trucks": [_truck(truck) for truck in ready.trucks],
        "cautions": list(dict.fromkeys([problem.travel.basis, *ready.cautions])),
    }


def _trucks(file: Path) -> list[Truck]:
    found: list[Truck] = []
    faults: list[Fault] = []
    for number, row in enumerate(read_trucks(file), start=2):
        try:
            found.append(truck_of(row, file=str(file), record=f"line {number}"))
        except InputFaultsError as error:
            faults += error.faults
    if faults:
        raise InputFaultsError(faults)
    return found


def _loaded(trucks: Sequence[Truck], works: Sequence[Work]) -> list[Truck]:
    wanted: dict[str, tuple[float, str]] = {}
    for work in works:
        if work.mix:
            wanted[work.mix] = (wanted.get(work.mix, (0.0, ""))[0] + work.amount, work.unit)
    return [loaded(truck, wanted) for truck in trucks]


def _parted(
    works: Sequence[Work], trucks: Sequence[Truck], forecast: Forecast, days: Sequence[date]
) -> list[Work]:
    """Return works cut into what the largest tank and the longest block of hours hold."""
    largest: dict[str, float] = {}
    longest_s = 0
    for truck in trucks:
        sizes: dict[str, float] = {}
        for tank in truck.tanks:
            sizes[tank.mix] = sizes.get(tank.mix, 0.0) + tank.size
        largest |= {mix: max(size, largest.get(mix, 0.0)) for mix, size in sizes.items() if mix}
        for block in blocks_of(truck, depot=0, days=days, fit=forecast.fit):
            longest_s = max(longest_s, block.closes - block.opens)
    return parted(works, largest=largest, longest_s=longest_s)


def _told_before(work: Work, announced: Mapping[str, tuple[date, str]]) -> Work:
    before = announced.get(work.id)
    return work if before is None else replace(work, announced=before[0])


def _places(works: Sequence[Work], trucks: Sequence[Truck]) -> tuple[Floats, list[int], list[int]]:
    """Return every place once, and the place of each work and each truck's depot."""
    at = [(truck.longitude, truck.latitude) for truck in trucks]
    at += [(work.site.longitude, work.site.latitude) for work in works]
    number = {point: place for place, point in enumerate(dict.fromkeys(at))}
    rows = [number[point] for point in at]
    return np.array(list(number)), rows[len(trucks) :], rows[: len(trucks)]


def _times(file: Path | None, lon_lat: Floats) -> TravelTimes:
    if file is None:
        return EstimatedTimes()
    return RoadTimes(Roads(*read_roads(file, lon_lat), source=file.name))


def _again(works: Sequence[Work]) -> dict[str, Again]:
    """Return the second pass that follows each work, where a window of the season says so."""
    following = _following()
    titles = {row["task"]: row["title"] for row in table("task").rows}
    return {
        work.id: Again(days[0], days[1], f"{work.site.name} · {titles[task]} · after {work.id}")
        for work in works
        if (named := following.get(work.task["task"]))
        for task, days in [named]
    }


def _following() -> dict[str, tuple[str, tuple[int, int]]]:
    """Return which task follows a task, and within how many days, from the table window."""
    edges: dict[tuple[str, str], dict[str, list[int]]] = {}
    for row in table("window").rows:
        if row["basis"] == "after_task" and row["value"] is not None:
            key = (row["after_task"], row["task"])
            edges.setdefault(key, {}).setdefault(row["edge"], []).append(int(row["value"]))
    return {
        before: (after, (max(found["opens"]), min(found["closes"])))
        for (before, after), found in edges.items()
        if {"opens", "closes"} <= set(found)
    }


def _all_works(works: Sequence[Work], rolled_on: Rolled) -> list[Work]:
    """Return the work behind each stop, second passes after the others."""
    named = {work.id: work for work in works}
    tasks = table("task").by("task")
    following = _following()
    found = list(works)
    for one, stop in zip(rolled_on.intervals, rolled_on.problem.stops[len(works) :], strict=True):
        before = named[one.first_pass]
        task = tasks[following[before.task["task"]][0]]
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
            "task": _following()[works[one.first_pass].task["task"]][0],
            "first": problem.stops[number[one.second_pass]].first.isoformat(),
            "last": problem.stops[number[one.second_pass]].last.isoformat(),
            "done": days[number[one.first_pass]].isoformat(),
            "planned": number[one.second_pass] in served,
        }
        for one in rolled_on.intervals
    ]


def _moved(stops: Sequence[Plain]) -> list[Plain]:
    return [
        {
            "stop": stop["stop"],
            "property": stop["property"],
            "from": stop["was"],
            "to": {"day": stop["day"], "truck": stop["truck"]} if stop["day"] else None,
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
