"""What is to be planned: stops, blocks of hours in which a truck may work, and travel between.

Times are whole seconds on one axis that begins at midnight before the first day of the plan. The
weather stands in the blocks and never in the stops: a day without hours to spray has no block.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cached_property, lru_cache

import numpy as np
import numpy.typing as npt

from turfmap.foundations.definitions import table

DAY_S = 86_400
HOUR_S = 3_600
METRES_PER_MILE = 1609.344
Whole = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Marks = npt.NDArray[np.bool_]
Span = tuple[int, int]


@dataclass(frozen=True)
class Closed:
    """Hours in which nobody may come.

    Attributes
    ----------
    from_s, to_s
        From when to when [seconds of the day].
    weekdays
        On which weekdays, Monday 0; empty: on every one.
    day
        On this day alone; None: on all of those weekdays.
    """

    from_s: int = 0
    to_s: int = DAY_S
    weekdays: frozenset[int] = frozenset()
    day: date | None = None

    def is_on(self, day: date) -> bool:
        """Return whether it counts on a day."""
        if self.day is not None:
            return self.day == day
        return not self.weekdays or day.weekday() in self.weekdays


@dataclass(frozen=True)
class Stop:
    """Work at one place that one truck does in one go.

    Attributes
    ----------
    id
        What it is called; unique.
    place
        Its row of the travel matrix.
    service_s
        Time on site [s].
    first, last
        Its first and last day.
    closed
        When its client lets nobody in.
    amounts
        What of each mix it takes, in that mix's own unit.
    licences
        What the crew must be licensed for.
    priority
        1 (first) to 3; see the table plan_price.
    announced
        The day that its client was told; None if nobody was told.
    """

    id: str
    place: int
    service_s: int
    first: date
    last: date
    closed: tuple[Closed, ...] = ()
    amounts: Mapping[str, float] = field(default_factory=dict)
    licences: frozenset[str] = frozenset()
    priority: int = 2
    announced: date | None = None


@dataclass(frozen=True)
class Block:
    """Hours of one day in which one truck may work.

    Attributes
    ----------
    truck, day
        Whose, and when.
    depot
        Row of the travel matrix where it starts, fills and ends.
    opens, closes
        Work on site lies within [s].
    leaves, returns
        The truck is away from its depot within [s].
    shift_s
        The longest that it may be away in this block [s].
    tanks
        What it carries of each mix, in that mix's own unit.
    licences
        What its crew is licensed for.
    refill_s, most_refills
        How long a refill takes [s], and how many there may be.
    share
        This block's share of the price of a truck-day.
    """

    truck: str
    day: date
    depot: int
    opens: int
    closes: int
    leaves: int
    returns: int
    shift_s: int
    tanks: Mapping[str, float] = field(default_factory=dict)
    licences: frozenset[str] = frozenset()
    refill_s: int = 1_200
    most_refills: int = 4
    share: float = 1.0


@dataclass(frozen=True, eq=False)
class Travel:
    """Driving between places.

    Attributes
    ----------
    seconds, metres
        From each place (row) to each, shape (places, places).
    xy_m
        Where the places are on a plane [m], shape (places, 2).
    basis
        How the times are known, in one sentence.
    source
        The extract or the table's row that they come from.
    """

    seconds: Whole
    metres: Whole
    xy_m: Floats
    basis: str = ""
    source: str = ""
    is_estimated: bool = False

    def among(self, places: Sequence[int] | Whole) -> "Travel":
        """Return the travel between some of the places, in their order."""
        rows = np.asarray(places, dtype=np.int64)
        grid = np.ix_(rows, rows)
        return replace(
            self, seconds=self.seconds[grid], metres=self.metres[grid], xy_m=self.xy_m[rows]
        )


@dataclass(frozen=True)
class Prices:
    """What is weighed against what, in seconds of driving.

    Attributes
    ----------
    truck_day
        Sending a truck out on a day.
    missed
        Missing a stop, by priority.
    can_wait
        The share of it for a stop whose days go on after the plan.
    moved
        Coming on another day than announced.
    """

    truck_day: int
    missed: Mapping[int, int]
    can_wait: float
    moved: int


@lru_cache(maxsize=1)
def shipped_prices() -> Prices:
    """Return the prices of the table plan_price."""
    rows = {row["price"]: float(row["value"]) for row in table("plan_price").rows}
    missed = {rank: round(rows[f"missed_{rank}"] * HOUR_S) for rank in (1, 2, 3)}
    truck_day, moved = (round(rows[name] * HOUR_S) for name in ("truck_day", "moved"))
    return Prices(truck_day, missed, rows["can_wait"], moved)


@dataclass(frozen=True, eq=False)
class Problem:
    """All that a plan is made from.

    Attributes
    ----------
    first, last
        First and last day of the plan.
    """

    first: date
    last: date
    stops: tuple[Stop, ...]
    blocks: tuple[Block, ...]
    travel: Travel
    prices: Prices = field(default_factory=shipped_prices)

    @cached_property
    def mixes(self) -> tuple[str, ...]:
        """Every mix that a stop takes, in a fixed order."""
        return tuple(sorted({name for stop in self.stops for name in stop.amounts}))

    @cached_property
    def licences(self) -> tuple[str, ...]:
        """Every licence that a stop asks for, in a fixed order."""
        return tuple(sorted({name for stop in self.stops for name in stop.licences}))

    @cached_property
    def needs(self) -> Floats:
        """What each stop takes of each mix, shape (stops, mixes)."""
        rows = [[stop.amounts.get(mix, 0.0) for mix in self.mixes] for stop in self.stops]
        return np.array(rows, dtype=np.float64).reshape(len(self.stops), len(self.mixes))

    @cached_property
    def holds(self) -> Floats:
        """What each block's truck carries of each mix, shape (blocks, mixes)."""
        rows = [[block.tanks.get(mix, 0.0) for mix in self.mixes] for block in self.blocks]
        return np.array(rows, dtype=np.float64).reshape(len(self.blocks), len(self.mixes))

    @cached_property
    def service_s(self) -> Whole:
        """Time on each site [s], shape (stops,)."""
        return np.array([stop.service_s for stop in self.stops], dtype=np.int64)

    @cached_property
    def places(self) -> Whole:
        """Row of the travel matrix of each stop, shape (stops,)."""
        return np.array([stop.place for stop in self.stops], dtype=np.int64)

    @cached_property
    def may_go(self) -> Marks:
        """Whether a block's truck has the tank and the licence for a stop, (blocks, stops)."""
        wants = [[name in stop.licences for name in self.licences] for stop in self.stops]
        has = [[name in block.licences for name in self.licences] for block in self.blocks]
        want = np.array(wants, dtype=bool).reshape(len(self.stops), len(self.licences))
        have = np.array(has, dtype=bool).reshape(len(self.blocks), len(self.licences))
        licensed = ~(want[None] & ~have[:, None]).any(axis=2)
        fits = (self.needs[None] <= self.holds[:, None]).all(axis=2)
        found: Marks = licensed & fits
        return found

    @cached_property
    def prize(self) -> Whole:
        """What missing each stop costs [s of driving], shape (stops,)."""
        found = [
            self.prices.missed[stop.priority]
            * (self.prices.can_wait if stop.last > self.last else 1.0)
            for stop in self.stops
        ]
        return np.array(found, dtype=np.float64).round().astype(np.int64)

    def day_start(self, day: date) -> int:
        """Return the midnight before a day [s]."""
        return (day - self.first).days * DAY_S

    def day_of(self, second: int) -> date:
        """Return the day that a time lies in."""
        return self.first + timedelta(days=second // DAY_S)

    def alone(self) -> "Problem":
        """Return the same problem with the places that it calls at and no others.

        A part of a large one is sent to another process so.
        """
        used = {block.depot for block in self.blocks} | {stop.place for stop in self.stops}
        places = sorted(used)
        row = {place: number for number, place in enumerate(places)}
        return replace(
            self,
            stops=tuple(replace(stop, place=row[stop.place]) for stop in self.stops),
            blocks=tuple(replace(block, depot=row[block.depot]) for block in self.blocks),
            travel=self.travel.among(places),
        )

    def of(self, stops: Iterable[int], blocks: Iterable[int]) -> "Problem":
        """Return the part with some of the stops and some of the blocks, in their order."""
        some = tuple(self.stops[number] for number in stops)
        hours = tuple(self.blocks[number] for number in blocks)
        return replace(self, stops=some, blocks=hours)
