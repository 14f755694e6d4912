"""Trucks as their owner writes them, and the blocks of hours in which each may work."""

import itertools
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

from turfmap.days.plan.no_go import clock, weekdays
from turfmap.days.plan.problem import DAY_S, HOUR_S, Block, Span
from turfmap.days.quantities import amount
from turfmap.foundations.definitions import table
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault

# Hours to spray shorter than this are not worth a start [s].
SHORTEST_BLOCK_S = HOUR_S
# A day cut into more pieces is worked in its longest ones.
MOST_BLOCKS_A_DAY = 2
_SIZE = re.compile(r"([\d.,]+\s*[A-Za-z]+)\s*(.*)")
_CLOCK = re.compile(r"(\d{1,2}):(\d{2})(?::00)?")


@dataclass(frozen=True)
class Tank:
    """A tank or a hopper.

    Attributes
    ----------
    size
        What it holds [gal of spray, or lb of what is dry].
    unit
        ``gal`` or ``lb``.
    mix
        The product that it carries; empty: whichever is needed most.
    """

    size: float
    unit: str
    mix: str = ""


@dataclass(frozen=True)
class Truck:
    """A truck with its crew.

    Attributes
    ----------
    name, crew
        What people call it, and who is on it.
    longitude, latitude
        Where it starts, fills and ends [deg].
    starts_s, ends_s
        It is away from there within these hours of the day [s].
    shift_s
        The longest day [s].
    tanks
        What it carries.
    licences, licensed_on
        What its crew is licensed for, and on which weekdays, Monday 0.
    weekdays
        On which it works.
    off
        Days on which it does not.
    """

    name: str
    longitude: float
    latitude: float
    starts_s: int = 7 * HOUR_S
    ends_s: int = 18 * HOUR_S
    shift_s: int = 10 * HOUR_S
    tanks: tuple[Tank, ...] = ()
    licences: frozenset[str] = frozenset()
    licensed_on: frozenset[int] = frozenset(range(7))
    weekdays: frozenset[int] = frozenset(range(5))
    off: frozenset[date] = frozenset()
    refill_s: int = 1_200
    most_refills: int = 4
    crew: str = ""

    def works_on(self, day: date) -> bool:
        """Return whether it works on a day."""
        return day.weekday() in self.weekdays and day not in self.off


def truck_of(row: Mapping[str, Any], *, file: str, record: str) -> Truck:
    """Return a truck from a checked row of a truck file.

    Raises
    ------
    InputFaultsError
        With everything in it that is not understood.
    """
    faults: list[Fault] = []

    def read(name: str, how: Any, usual: Any) -> Any:
        if row[name] is None:
            return usual
        try:
            return how(row[name], record=f"{record}, {name}")
        except InputFaultsError as error:
            faults.extend(replace(fault, file=file) for fault in error.faults)
            return usual

    every_day = frozenset(range(7))
    truck = Truck(
        row["truck"],
        row["longitude"],
        row["latitude"],
        starts_s=read("starts", _clock_s, Truck.starts_s),
        ends_s=read("ends", _clock_s, Truck.ends_s),
        shift_s=round((row["shift_h"] or Truck.shift_s / HOUR_S) * HOUR_S),
        tanks=read("tanks", _tanks, ()),
        licences=frozenset(_words(row["licences"])),
        licensed_on=read("licensed_on", weekdays, every_day),
        weekdays=read("days", weekdays, Truck.weekdays),
        off=read("off", _days, frozenset()),
        refill_s=round(20 * 60 if row["refill_min"] is None else row["refill_min"] * 60),
        most_refills=4 if row["most_refills"] is None else row["most_refills"],
        crew=row["crew"] or "",
    )
    if truck.starts_s >= truck.ends_s:
        faults.append(Fault(file, record, "it ends before it starts", "correct its hours"))
    if faults:
        raise InputFaultsError(faults)
    return truck


def _words(text: str | None) -> list[str]:
    return [part.strip() for part in (text or "").split(";") if part.strip()]


def _clock_s(text: str, *, record: str) -> int:
    found, mend = _CLOCK.fullmatch(text.strip()), "write it as 07:30"
    if found is None:
        raise input_fault(f"{text!r} is no time of the day", mend, record=record)
    return clock(found[1], found[2], record, mend=mend)


def _days(text: str, *, record: str) -> frozenset[date]:
    try:
        return frozenset(date.fromisoformat(word) for word in _words(text))
    except ValueError:
        mend = "write days as 2026-09-17; 2026-09-18"
        raise input_fault(f"{text!r} holds no days", mend, record=record) from None


def _tanks(text: str, *, record: str) -> tuple[Tank, ...]:
    return tuple(_tank(part, record) for part in _words(text))


def _tank(text: str, record: str) -> Tank:
    found = _SIZE.fullmatch(text)
    if found is None:
        mend = "write tanks as 200 gal; 100 gal PRODUCT; 300 lb"
        raise input_fault(f"{text!r} is no tank", mend, record=record)
    holds = amount(found[1], record=record)
    unit = "gal" if holds.is_compatible_with("liter") else "lb"
    size = float(holds.to("gallon" if unit == "gal" else "pound").magnitude)
    return Tank(size, unit, found[2].strip())


def loaded(truck: Truck, wanted: Mapping[str, tuple[float, str]]) -> Truck:
    """Give tanks that are free the mixes that are wanted most, in the tanks' order.

    Parameters
    ----------
    wanted
        How much of each mix all stops take, and in which unit.
    """
    left = {mix: how for mix, how in wanted.items() if mix not in {t.mix for t in truck.tanks}}
    tanks = []
    for tank in truck.tanks:
        fitting = [mix for mix, (_, unit) in left.items() if unit == tank.unit]
        if not tank.mix and fitting:
            best = max(fitting, key=lambda mix: (left[mix][0], mix))
            del left[best]
            tanks.append(replace(tank, mix=best))
        else:
            tanks.append(tank)
    return replace(truck, tanks=tuple(tanks))


def blocks_of(
    truck: Truck,
    *,
    depot: int,
    days: Sequence[date],
    fit: Mapping[date, Sequence[Span]],
) -> list[Block]:
    """Return the blocks of hours in which a truck may work.

    Parameters
    ----------
    depot
        Its row of the travel matrix.
    days
        The days of the plan; the first begins the axis of time.
    fit
        Hours of a day in which the weather lets it work [s of the day]; a day that is not named
        bears work at any hour.
    """
    found = []
    for number, day in enumerate(days):
        if truck.works_on(day):
            spans = worked(truck, fit.get(day, [(0, DAY_S)]))
            price = _price(number, is_doubtful=bool(fit) and day not in fit)
            found += [
                replace(block, share=block.share * price)
                for block in _day_blocks(truck, depot, day, number * DAY_S, spans)
            ]
    return found


def _price(number: int, *, is_doubtful: bool) -> float:
    """Return what a day's work costs against the first day's: soon and foretold is better."""
    prices = {row["price"]: float(row["value"]) for row in table("plan_price").rows}
    return 1.0 + prices["later_day"] * number + prices["not_forecast"] * is_doubtful


def worked(truck: Truck, spans: Sequence[Span]) -> list[Span]:
    """Return the longest spans within a truck's hours, earliest first [s of the day]."""
    mine = [(max(a, truck.starts_s), min(b, truck.ends_s)) for a, b in spans]
    long = [span for span in mine if span[1] - span[0] >= SHORTEST_BLOCK_S]
    return sorted(sorted(long, key=lambda span: span[0] - span[1])[:MOST_BLOCKS_A_DAY])


def _day_blocks(
    truck: Truck, depot: int, day: date, start: int, spans: Sequence[Span]
) -> list[Block]:
    """Return one block a span; together they are away no longer than the shift."""
    gaps = [(a[1] + b[0]) // 2 for a, b in itertools.pairwise(spans)]
    leaves, returns = [truck.starts_s, *gaps], [*gaps, truck.ends_s]
    away = [b - a for a, b in zip(leaves, returns, strict=True)] if spans else []
    scale = min(1.0, truck.shift_s / sum(away)) if len(spans) > 1 else 1.0
    is_licensed = day.weekday() in truck.licensed_on
    holds: dict[str, float] = {}
    for tank in truck.tanks:
        if tank.mix:
            holds[tank.mix] = holds.get(tank.mix, 0.0) + tank.size
    return [
        Block(
            truck.name,
            day,
            depot,
            opens=start + span[0],
            closes=start + span[1],
            leaves=start + leaves[number],
            returns=start + returns[number],
            shift_s=min(int(away[number] * scale), truck.shift_s),
            tanks=holds,
            licences=truck.licences if is_licensed else frozenset(),
            refill_s=truck.refill_s,
            most_refills=truck.most_refills,
            share=1.0 / len(spans),
        )
        for number, span in enumerate(spans)
    ]


def days_between(first: date, last: date) -> list[date]:
    """Return every day from the first to the last."""
    return [first + timedelta(days=number) for number in range((last - first).days + 1)]
