"""A plan as plain data: each outing with its calls and sums, each stop with its day or why not."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any

from turfmap.days.plan.checker import Interval
from turfmap.days.plan.filling import Ready
from turfmap.days.plan.problem import METRES_PER_MILE, Block, Floats, Problem
from turfmap.days.plan.reasons import more_with_an_hour, saved_by_a_tank, why_left_out
from turfmap.days.plan.tours import Plan, Time, Timed, timed
from turfmap.days.plan.works import Work
from turfmap.foundations.units import square_feet

Plain = dict[str, Any]


@dataclass(frozen=True, eq=False)
class Found:
    """A plan with all that is told of it.

    Attributes
    ----------
    works
        The work behind each stop of the problem, in its order.
    lon_lat
        Where each place is [deg], shape (places, 2).
    follows
        The first pass of each stop that is a second one, by the stop's id.
    weather
        What is said of a day's weather.
    crews
        Who is on each truck.
    units
        The unit of each mix.
    workable
        Numbers of the days on which some truck would work whatever the weather.
    """

    problem: Problem
    plan: Plan
    works: Sequence[Work]
    lon_lat: Floats
    intervals: Sequence[Interval]
    weather: Callable[[Any], str]
    crews: Mapping[str, str]
    units: Mapping[str, str]
    workable: frozenset[int]


def told(found: Found) -> Plain:
    """Return totals, days, stops and what was left out; see the issue's contract for the keys."""
    ready = Ready(found.problem)
    tours = [timed(found.problem, tour) for tour in found.plan.tours]
    days = [_day(found, ready, one) for one in tours]
    left_out = _left_out(found, ready)
    return {
        "totals": _totals(found, days, len(left_out)),
        "days": days,
        "stops": _stops(found, tours),
        "left_out": left_out,
    }


def iso(problem: Problem, second: int) -> str:
    """Return a time of the plan by the clock of the place, to the minute."""
    start = datetime.combine(problem.first, time())
    return (start + timedelta(seconds=second)).isoformat(timespec="minutes")


def _day(found: Found, ready: Ready, one: Timed) -> Plain:
    problem, block = found.problem, found.problem.blocks[one.tour.block]
    longitude, latitude = (float(x) for x in found.lon_lat[block.depot])
    working = sum(problem.stops[stop].service_s for stop in one.tour.stops)
    refills = sum(call.stop < 0 for call in one.tour.calls)
    return {
        "day": block.day.isoformat(),
        "truck": block.truck,
        "crew": found.crews.get(block.truck, ""),
        "leaves": iso(problem, one.leaves),
        "returns": iso(problem, one.home.ends),
        "depot": {"longitude": longitude, "latitude": latitude},
        "blocks": [[iso(problem, block.opens), iso(problem, block.closes)]],
        "weather": found.weather(block.day),
        "driving_min": minutes(one.driving_s),
        "working_min": minutes(working),
        "refill_min": minutes(refills * block.refill_s),
        "waiting_min": minutes(one.waiting_s),
        "miles": miles(one.metres),
        "refills": refills,
        "mixes": _mixes(found, one, block),
        "saves": _saves(found, ready, one),
        "legs": _legs(found, one, block),
        "home_min": minutes(one.home.drive_s),
        "home_miles": miles(one.home.metres),
    }


def _mixes(found: Found, one: Timed, block: Block) -> list[Plain]:
    sums = found.problem.needs[one.tour.stops].sum(axis=0)
    return [
        {
            "mix": mix,
            "amount": round(float(amount), 2),
            "unit": found.units[mix],
            "tank": block.tanks.get(mix, 0.0),
            "tanks": round(float(amount) / block.tanks[mix], 2),
        }
        for mix, amount in zip(found.problem.mixes, sums, strict=True)
        if amount > 0.0
    ]


def _saves(found: Found, ready: Ready, one: Timed) -> Plain:
    stops = more_with_an_hour(ready, found.plan, one.tour)
    saved_min = minutes(saved_by_a_tank(found.problem, one.tour))
    hour = f"One more hour: {stops} more {'stop' if stops == 1 else 'stops'}."
    tank = f"One more tank of each mix: {saved_min:,.0f} min less on the road and filling up."
    return {
        "hour": {"stops": stops, "words": hour if stops else "One more hour: no more stops."},
        "tank": {
            "minutes": saved_min,
            "words": tank if saved_min > 0 else "One more tank: nothing saved.",
        },
    }


def _legs(found: Found, one: Timed, block: Block) -> list[Plain]:
    problem, legs, number = found.problem, [], 0
    longitude, latitude = (float(x) for x in found.lon_lat[block.depot])
    for call, at in zip(one.tour.calls, one.times, strict=True):
        way = {"drive_min": minutes(at.drive_s), "miles": miles(at.metres)}
        times = {"arrives": iso(problem, at.arrives), "ends": iso(problem, at.ends)}
        if call.stop < 0:
            place = {"longitude": longitude, "latitude": latitude}
            legs.append({"kind": "refill", **times, **way, **place})
            continue
        number += 1
        stop = {"kind": "stop", "number": number, "stop": problem.stops[call.stop].id}
        waits = {
            "starts": iso(problem, at.starts),
            "wait_min": minutes(at.starts - at.arrives),
        }
        legs.append({**stop, **times, **waits, **way})
    return legs


def _stops(found: Found, tours: Sequence[Timed]) -> list[Plain]:
    problem = found.problem
    follows = {one.second_pass: one.first_pass for one in found.intervals}
    day_of: dict[str, str] = {}
    at: dict[int, tuple[Block, Time, int]] = {}
    for one in tours:
        block = problem.blocks[one.tour.block]
        calls = [pair for pair in zip(one.tour.calls, one.times, strict=True) if pair[0].stop >= 0]
        for number, (call, when) in enumerate(calls, start=1):
            at[call.stop] = (block, when, number)
            day_of[problem.stops[call.stop].id] = block.day.isoformat()
    rows = []
    for number, work in enumerate(found.works):
        first = follows.get(work.id)
        before = {"stop": first, "day": day_of.get(first)} if first else None
        rows.append({**_work(work), **_when(problem, at.get(number)), "follows": before})
    return sorted(rows, key=lambda row: str(row["stop"]))


def _work(work: Work) -> Plain:
    site = work.site
    return {
        "stop": work.id,
        "property": site.name,
        "task": work.task["task"],
        "title": work.task["title"],
        "zones": [
            {
                "zone": zone.zone,
                "treatable_m2": zone.treatable_m2,
                "treatable_sqft": square_feet(zone.treatable_m2),
            }
            for zone in work.zones
        ],
        "longitude": site.longitude,
        "latitude": site.latitude,
        "minutes": minutes(work.service_s),
        "first": work.first.isoformat(),
        "last": work.last.isoformat(),
        "closes": work.last.isoformat(),
        "product": work.product,
        "mix": work.mix or None,
        "amount": round(work.amount, 2),
        "unit": work.unit or None,
        "is_ready": not work.not_ready,
        "not_ready": list(work.not_ready),
        "priority": site.priority,
        "licences": sorted(work.licences),
        **site.words,
        "was": None,
    }


def _when(problem: Problem, at: tuple[Block, Time, int] | None) -> Plain:
    if at is None:
        return dict.fromkeys(("day", "truck", "starts", "ends", "number"))
    block, when, number = at
    return {
        "day": block.day.isoformat(),
        "truck": block.truck,
        "starts": iso(problem, when.starts),
        "ends": iso(problem, when.ends),
        "number": number,
    }


def _left_out(found: Found, ready: Ready) -> list[Plain]:
    served, rows = found.plan.served, []
    for number, work in enumerate(found.works):
        if number in served:
            continue
        reason = why_left_out(ready, found.plan, number, found.workable)
        rows.append(
            {
                "stop": work.id,
                "property": work.site.name,
                "task": work.task["task"],
                "last": work.last.isoformat(),
                "can_wait": work.last > found.problem.last,
                "binds": reason.binds,
                "why": reason.why,
            }
        )
    return sorted(rows, key=lambda row: str(row["stop"]))


def _totals(found: Found, days: Sequence[Plain], left_out: int) -> Plain:
    sums = found.problem.needs[sorted(found.plan.served)].sum(axis=0)
    added = ("driving_min", "working_min", "refill_min", "waiting_min", "miles", "refills")
    return {
        "stops": len(found.works),
        "served": len(found.plan.served),
        "left_out": left_out,
        **{name: round(sum(day[name] for day in days), 1) for name in added},
        "truck_days": len({(day["day"], day["truck"]) for day in days}),
        "days": len({day["day"] for day in days}),
        "tanks": {
            mix: {"amount": round(float(amount), 2), "unit": found.units[mix]}
            for mix, amount in zip(found.problem.mixes, sums, strict=True)
            if amount > 0.0
        },
    }


def minutes(seconds: float) -> float:
    """Return a time [s] in minutes, to a tenth."""
    return round(seconds / 60.0, 1)


def miles(metres: float) -> float:
    """Return a length [m] in miles, to a tenth."""
    return round(metres / METRES_PER_MILE, 1)
