"""An invented town to plan spray days in, from a seed: ten days, two trucks a thousand stops.

Clustered stops in a square of 32 km; due days of 4 to 9 days; a quarter of the clients has
weekdays, an eighth hours on which nobody may come; an eighth of the stops asks for a licence that
the second truck has on every third day only; two mixes, each with a tank of its own. Rain takes a
day, halves two and splits one. All figures are made up; the work is most of what the trucks can do.
"""

import itertools
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from turfmap.days.plan.problem import DAY_S, HOUR_S, Block, Closed, Floats, Problem, Stop, Travel

FIRST = date(2026, 9, 14)
DAYS = 10
SIDE_M = 32_000.0
# Hours fit to work in on each day.
WEATHER = (
    ((7, 18),),
    ((7, 18),),
    ((7, 12),),
    (),
    ((7, 18),),
    ((12, 18),),
    ((7, 18),),
    ((7, 11), (14, 18)),
    ((7, 18),),
    ((7, 18),),
)
OUT, HOME = 6, 19
SHIFT_H = 11
TANKS_L = {"mix A": 750.0, "mix B": 450.0}
LITRES_PER_M2 = 0.04
# Minutes on site by size: with the roads between, nine tenths of the trucks' hours.
MINUTES = ((60, 30.0), (300, 20.0), (1_000, 6.5))


@dataclass(frozen=True)
class Town:
    """How fast it is driven: straight lines times a factor, at a speed.

    Roads are uneven: each way is longer or shorter than the factor says, by a deviation drawn for
    it. An estimate knows nothing of that.
    """

    factor: float = 1.3
    km_per_h: float = 40.0
    deviation: float = 0.0

    def travel(self, xy_m: Floats) -> Travel:
        """Return driving between places on the plane."""
        metres = np.empty((len(xy_m), len(xy_m)), dtype=np.int64)
        for row, here in enumerate(xy_m):  # row by row: its memory is not what is measured
            metres[row] = np.rint(self.factor * np.hypot(*(xy_m - here).T))
        if self.deviation:
            metres = np.rint(metres * self._uneven(len(xy_m))).astype(np.int64)
        seconds = (metres / (self.km_per_h / 3.6)).astype(np.int64)
        return Travel(seconds, metres, xy_m, "invented straight lines")

    def _uneven(self, places: int) -> Floats:
        """Return by how much each way differs from the factor, never shorter than the line."""
        drawn = np.random.default_rng(places).normal(1.0, self.deviation, (places, places))
        both_ways = (drawn + drawn.T) / 2.0
        return np.maximum(both_ways, 1.0 / self.factor)


def town(
    size: int, seed: int, *, lost_day: int | None = None, roads: Town | None = None
) -> Problem:
    """Return a town with so many stops; a lost day bears no work at all."""
    chance = np.random.default_rng(seed)
    places = _places(chance, size)
    stops = tuple(_stop(chance, number, size) for number in range(size))
    trucks = max(2, 2 * round(size / 1_000))
    blocks = [
        block
        for day in range(DAYS)
        if day != lost_day
        for truck in range(trucks)
        for block in _blocks(day, truck)
    ]
    travel = (roads or Town()).travel(places)
    last = FIRST + timedelta(days=DAYS - 1)
    return Problem(FIRST, last, stops, tuple(blocks), travel)


def _places(chance: np.random.Generator, size: int) -> Floats:
    """Return the depot amid the town, and stops in clusters [m]."""
    centres = chance.uniform(0.08 * SIDE_M, 0.92 * SIDE_M, (max(5, size // 30), 2))
    of = chance.integers(0, len(centres), size)
    scattered = centres[of] + chance.normal(0.0, 0.03 * SIDE_M, (size, 2))
    middle = np.full((1, 2), SIDE_M / 2.0)
    return np.vstack([middle, np.clip(scattered, 0.0, SIDE_M)])


def _stop(chance: np.random.Generator, number: int, size: int) -> Stop:
    sizes, spells = np.array(MINUTES).T
    minutes = float(np.interp(size, sizes, spells))
    share = float(chance.lognormal(0.0, 0.4))
    area_m2 = 350.0 * share
    length = int(chance.integers(4, 10))
    opens = int(chance.integers(-3, DAYS - 3))  # some fell due before the plan begins
    closed = []
    if chance.random() < 0.25:
        closed.append(Closed(weekdays=frozenset(chance.choice(5, 2, replace=False).tolist())))
    if chance.random() < 0.12:
        hour = int(chance.integers(8, 15))
        closed.append(Closed(hour * HOUR_S, (hour + 2) * HOUR_S))
    mix = "mix A" if chance.random() < 0.65 else "mix B"
    return Stop(
        f"stop {number}",
        number + 1,
        round(60.0 * (0.4 + 0.6 * share) * minutes),
        FIRST + timedelta(days=max(opens, 0)),
        FIRST + timedelta(days=min(max(opens + length, 3), DAYS) - 1),
        closed=tuple(closed),
        amounts={mix: min(area_m2 * LITRES_PER_M2, TANKS_L[mix])},
        licences=frozenset({"applicator"}) if chance.random() < 0.12 else frozenset(),
        priority=int(chance.integers(1, 4)),
    )


def _blocks(day: int, truck: int) -> list[Block]:
    spans = WEATHER[day]
    gaps = [(a[1] + b[0]) / 2 for a, b in itertools.pairwise(spans)]
    is_licensed = truck % 2 == 0 or day % 3 == 0
    return [
        Block(
            f"truck {truck}",
            FIRST + timedelta(days=day),
            0,
            opens=day * DAY_S + opens * HOUR_S,
            closes=day * DAY_S + closes * HOUR_S,
            leaves=day * DAY_S + round(([OUT, *gaps][number]) * HOUR_S),
            returns=day * DAY_S + round(([*gaps, HOME][number]) * HOUR_S),
            shift_s=SHIFT_H * HOUR_S // len(spans),
            tanks=TANKS_L,
            licences=frozenset({"applicator"}) if is_licensed else frozenset(),
            refill_s=20 * 60,
            most_refills=4,
            share=1.0 / len(spans),
        )
        for number, (opens, closes) in enumerate(spans)
    ]
