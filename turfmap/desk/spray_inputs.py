"""What the plan of spray days is made from: what is due, trucks, forecast, roads, all read."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

import numpy as np

from turfmap.days.plan.problem import Floats, Problem
from turfmap.days.plan.second_passes import Again
from turfmap.days.plan.trucks import Truck, blocks_of, days_between, loaded, truck_of
from turfmap.days.plan.works import Work, parted
from turfmap.days.quantities import Rate
from turfmap.days.travel import EstimatedTimes, TravelTimes
from turfmap.days.travel_roads import Roads, RoadTimes
from turfmap.desk.due import due_by
from turfmap.desk.engine import Engine
from turfmap.desk.season_inputs import season_inputs
from turfmap.desk.spray_forecast import Forecast, forecast_of
from turfmap.desk.spray_sites import read_sites
from turfmap.desk.spray_works import Asked, Works, following, season_ends, works_of
from turfmap.desk.weather import Given as GivenWeather
from turfmap.foundations.dates import day_words
from turfmap.foundations.definitions import table
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.season.weather import Site as WeatherSite
from turfmap.store.plan_file import read_announced
from turfmap.store.roads import check_extract, read_roads
from turfmap.store.trucks import read_trucks

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


def prepared(
    path: Path, *, first: date, last: date, given: Given, engine: Engine | None = None
) -> Prepared:
    """Read all that a plan is made from; see `spray_days`, and `due` for `engine`."""
    if not 0 <= (last - first).days < MOST_DAYS:
        raise input_fault(
            f"{day_words(first)} to {day_words(last)} is no period to plan",
            f"give from 1 to {MOST_DAYS} days",
        )
    # What is handed in is looked at first: to judge what is due takes its time.
    if given.roads:
        check_extract(given.roads)
    trucks = _trucks(given.trucks)
    announced = read_announced(given.announced) if given.announced else {}
    days = days_between(first, last)
    depot = trucks[0]
    utc_offset_h = float(round(depot.longitude / DEGREES_AN_HOUR))
    site = WeatherSite(depot.latitude, depot.longitude)
    forecast = forecast_of(given.forecast, days, site=site, utc_offset_h=utc_offset_h)
    asked = Asked(first, last, given.tasks, given.uses, given.carrier)
    known = season_inputs(path, as_of=first, given=GivenWeather(given.weather))
    judged = due_by(known, as_of=first, what_if=given.what_if, engine=engine)
    found = works_of(path, judged["zones"], read_sites(path), asked)
    trucks = _loaded(trucks, found.works)
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
    after = following()
    titles = {row["task"]: row["title"] for row in table("task").rows}
    return {
        work.id: Again(
            days[0],
            days[1],
            f"{work.id.replace(work.task['title'], titles[task])} · to follow",
            season_ends(task, work.site.longitude, work.site.latitude),
        )
        for work in works
        if (named := after.get(work.task["task"]))
        for task, days in [named]
    }
