"""Work to be done at one property in one go: zones, days, time on site, and what goes into a tank.

Work that is more than the largest tank holds, or longer than a day's hours, is done in parts.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from turfmap.days.plan.problem import Closed, Stop
from turfmap.days.quantities import Rate
from turfmap.foundations.definitions import Row, table
from turfmap.foundations.units import SQUARE_FEET_PER_ACRE, square_feet

APPLICATOR = "applicator"
LEVEL = "level"


@dataclass(frozen=True)
class Ground:
    """One zone's part of the work.

    Attributes
    ----------
    zone
        Its name.
    treatable_m2
        What of it may be treated [m2].
    slope
        Its slope class; None where not known.
    opens, closes
        Its own days.
    dry_lb
        What is spread on it, where that is dry and known [lb].
    """

    zone: str
    treatable_m2: float
    slope: str | None
    opens: date
    closes: date
    dry_lb: float | None = None


@dataclass(frozen=True)
class Site:
    """What is known of a property that a crew drives to."""

    name: str
    longitude: float
    latitude: float
    closed: tuple[Closed, ...] = ()
    priority: int = 2
    words: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Work:
    """A task on zones of one property, on days that all of them share.

    Attributes
    ----------
    id
        Property, task and part.
    mix
        What it takes from a tank or hopper; empty: nothing that is known.
    amount, unit
        How much of it, in ``gal`` of spray or ``lb``.
    not_ready
        Why no load can be mixed for it yet.
    """

    id: str
    site: Site
    task: Row
    zones: tuple[Ground, ...]
    first: date
    last: date
    service_s: int
    product: str | None = None
    mix: str = ""
    amount: float = 0.0
    unit: str = ""
    licences: frozenset[str] = frozenset()
    not_ready: tuple[str, ...] = ()
    announced: date | None = None

    def stop(self, place: int) -> Stop:
        """Return it as a stop of a plan."""
        return Stop(
            self.id,
            place,
            self.service_s,
            self.first,
            self.last,
            closed=self.site.closed,
            amounts={self.mix: self.amount} if self.mix else {},
            licences=self.licences,
            priority=self.site.priority,
            announced=self.announced,
        )


def site_seconds(task: str, zones: Iterable[Ground]) -> int:
    """Return the time on site for a task: setting up, and the ground by its slope [s]."""
    rate = table("work_rate").by("task")[task]
    slopes = table("slope_class").by("slope")
    hours = sum(
        square_feet(zone.treatable_m2)
        * float(slopes[zone.slope or LEVEL]["time_factor"])
        / float(rate["sqft_per_hour"])
        for zone in zones
    )
    return math.ceil(60.0 * float(rate["setup_min"]) + 3_600.0 * hours)


def spray_gallons(
    task: str, area_m2: float, *, given: Rate | None, label: tuple[Rate | None, Rate | None]
) -> float:
    """Return the spray for an area [gal].

    Parameters
    ----------
    given
        The spray volume that the user sprays at.
    label
        The least and the largest that the product's label gives; the table's own is kept within.
    """
    if given is not None:
        return _gpa(given) * square_feet(area_m2) / SQUARE_FEET_PER_ACRE
    usual = float(table("work_rate").by("task")[task]["gal_per_1000sqft"] or 0.0)
    gpa = usual * SQUARE_FEET_PER_ACRE / 1_000.0
    low, high = label
    gpa = max(gpa, _gpa(low)) if low else gpa
    gpa = min(gpa, _gpa(high)) if high else gpa
    return gpa * square_feet(area_m2) / SQUARE_FEET_PER_ACRE


def _gpa(rate: Rate) -> float:
    return float(rate.per_area.to("gallon / acre").magnitude)


def sharing_days(zones: Iterable[Ground]) -> list[tuple[Ground, ...]]:
    """Group zones that have a day in common, those that close first together."""
    groups: list[list[Ground]] = []
    for zone in sorted(zones, key=lambda zone: (zone.closes, zone.opens, zone.zone)):
        if groups and max(zone.opens, *(z.opens for z in groups[-1])) <= groups[-1][0].closes:
            groups[-1].append(zone)
        else:
            groups.append([zone])
    return [tuple(group) for group in groups]


def parted(works: Sequence[Work], *, largest: Mapping[str, float], longest_s: int) -> list[Work]:
    """Return works cut into parts that fit a tank and a day.

    Parameters
    ----------
    largest
        The most that any truck carries of each mix; a mix that none carries is not cut.
    longest_s
        The longest block of hours that any truck has [s].
    """
    found = []
    for work in works:
        setup_s = round(60.0 * float(table("work_rate").by("task")[work.task["task"]]["setup_min"]))
        fillings = work.amount / largest[work.mix] if largest.get(work.mix) else 0.0
        spell_s = max(longest_s // 2 - setup_s, 1)
        spells = (work.service_s - setup_s) / spell_s if work.service_s > longest_s // 2 else 0.0
        parts = max(1, math.ceil(round(fillings, 6)), math.ceil(spells) if longest_s else 1)
        found += [_part(work, number, parts, setup_s) for number in range(1, parts + 1)]
    return found


def _part(work: Work, number: int, parts: int, setup_s: int) -> Work:
    if parts == 1:
        return work
    return replace(
        work,
        id=f"{work.id} · part {number} of {parts}",
        amount=work.amount / parts,
        service_s=setup_s + math.ceil((work.service_s - setup_s) / parts),
        zones=tuple(replace(zone, treatable_m2=zone.treatable_m2 / parts) for zone in work.zones),
    )
