"""Small plans to try things on: a straight road, one truck, days of eight hours."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any

import numpy as np

from turfmap.days.plan.filling import Ready
from turfmap.days.plan.problem import DAY_S, HOUR_S, Block, Closed, Prices, Problem, Stop, Travel
from turfmap.days.plan.tours import Call, Plan, Tour, plan_of

FIRST = date(2026, 9, 14)  # a Monday
PRICES = Prices(
    truck_day=HOUR_S,
    missed={1: 16 * HOUR_S, 2: 8 * HOUR_S, 3: 4 * HOUR_S},
    can_wait=0.5,
    moved=1_800,
)


def day(number: int) -> date:
    """Return a day of the plan, the first is 0."""
    return FIRST + timedelta(days=number)


def stop(place: int, **more: Any) -> Stop:
    """Return a stop of half an hour at a place, on any of ten days."""
    usual: dict[str, Any] = {"id": f"stop {place}", "service_s": 1_800}
    usual |= {"first": FIRST, "last": day(9)}
    return Stop(place=place, **(usual | more))


def block(number: int, truck: str = "truck", **more: Any) -> Block:
    """Return a day of a truck: work from 8 to 16, away from 7 to 17."""
    start = number * DAY_S
    usual: dict[str, Any] = {"opens": start + 8 * HOUR_S, "closes": start + 16 * HOUR_S}
    usual |= {"leaves": start + 7 * HOUR_S, "returns": start + 17 * HOUR_S, "shift_s": 10 * HOUR_S}
    return Block(truck, day(number), 0, **(usual | more))


def road(places: int, minutes: float = 10.0) -> Travel:
    """Return places along a straight road, the depot first, so many minutes apart."""
    along = np.arange(places)
    apart = np.abs(along[:, None] - along[None])
    seconds = np.rint(apart * minutes * 60).astype(np.int64)
    return Travel(seconds, seconds * 10, np.stack([along * 1_000.0, along * 0.0], axis=1))


def problem(stops: Sequence[Stop], blocks: Sequence[Block], **more: Any) -> Problem:
    """Return a problem of ten days on a straight road."""
    places = max((one.place for one in stops), default=0) + 1
    usual: dict[str, Any] = {"travel": road(places), "prices": PRICES, "last": day(9)}
    return Problem(FIRST, stops=tuple(stops), blocks=tuple(blocks), **(usual | more))


def plan(given: Problem, calls: Mapping[int, Sequence[int]]) -> Plan:
    """Return a plan by block and stops, each in its first run; -1 is a refill."""
    runs = Ready(given).runs
    tours = [
        Tour(number, tuple(Call(n, *runs[n][0]) if n >= 0 else Call(-1, 0, 0) for n in mine))
        for number, mine in calls.items()
    ]
    return plan_of(tours)


def random_problem(seed: int, *, stops: int = 12, trucks: int = 2, days: int = 4) -> Problem:
    """Return an invented problem with every kind of rule in it."""
    chance = np.random.default_rng(seed)
    xy = chance.uniform(0.0, 20_000.0, (stops + 1, 2))
    seconds = np.rint(np.hypot(*(xy[:, None] - xy[None]).transpose(2, 0, 1)) / 9.0).astype(np.int64)
    made = [_random_stop(chance, number, days) for number in range(1, stops + 1)]
    blocks = []
    for number in range(days):
        for truck in range(trucks):
            licences = frozenset({"applicator"}) if truck == 0 else frozenset()
            opens = number * DAY_S + int(chance.integers(7, 10)) * HOUR_S
            closes = number * DAY_S + int(chance.integers(11, 18)) * HOUR_S
            tanks = {"a": 60.0, "b": 40.0}
            more = {"opens": opens, "closes": closes, "tanks": tanks, "licences": licences}
            blocks.append(block(number, f"truck {truck}", shift_s=9 * HOUR_S, **more))
    travel = Travel(seconds, seconds * 10, xy)
    return problem(made, blocks, travel=travel, last=day(days - 1))


def _random_stop(chance: np.random.Generator, number: int, days: int) -> Stop:
    first = int(chance.integers(0, days))
    closed = []
    if chance.random() < 0.4:
        closed.append(Closed(weekdays=frozenset({int(chance.integers(0, 5))})))
    if chance.random() < 0.4:
        hour = int(chance.integers(8, 14))
        closed.append(Closed(hour * HOUR_S, (hour + 2) * HOUR_S))
    return stop(
        number,
        service_s=int(chance.integers(5, 60)) * 60,
        first=day(first),
        last=day(min(first + int(chance.integers(1, days)), days)),
        closed=tuple(closed),
        amounts={str(chance.choice(["a", "b"])): float(chance.integers(5, 35))},
        licences=frozenset({"applicator"}) if chance.random() < 0.3 else frozenset(),
        priority=int(chance.integers(1, 4)),
    )
