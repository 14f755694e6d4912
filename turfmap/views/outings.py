"""Outings of a plan of spray days, as every view of a plan tells them."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from turfmap.foundations.dates import day_words

Plain = Mapping[str, Any]
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")

# What every view of a plan says, whatever was planned.
STANDING_CAUTIONS = (
    "A plan is not permission. On the day, look at the wind, the label and the ground before "
    "anything is opened; unknown never means go.",
    "The product label is the law, and local rules and a licensed person's judgement come before "
    "this plan. Where they differ from it, follow them.",
    "None drawn does not mean none there: look for water, wells, hives, play areas, people and "
    "pets before you treat.",
)
NOT_READY = "No load can be mixed yet"


@dataclass(frozen=True)
class Call:
    """A stop or a refill of an outing; a refill has neither number nor stop."""

    leg: Plain
    stop: Plain | None

    @property
    def lon_lat(self) -> tuple[float, float]:
        """Return where it is [deg]."""
        at = self.leg if self.stop is None else self.stop
        return float(at["longitude"]), float(at["latitude"])


@dataclass(frozen=True)
class Outing:
    """One way of one truck from its depot and back."""

    of: Plain
    calls: tuple[Call, ...]

    @property
    def title(self) -> str:
        """Return its day and truck in words."""
        return f"{weekday_words(self.of['day'])}, {self.of['truck']}"

    @property
    def depot(self) -> tuple[float, float]:
        """Return longitude and latitude of where it starts and ends [deg]."""
        return float(self.of["depot"]["longitude"]), float(self.of["depot"]["latitude"])

    @property
    def stops(self) -> list[Call]:
        """Return its stops without the refills."""
        return [call for call in self.calls if call.stop is not None]

    def way(self) -> list[tuple[float, float]]:
        """Return its way as longitude and latitude [deg]: by road where known, else straight."""
        found = [self.depot]
        for call in self.calls:
            found += [(float(x), float(y)) for x, y in call.leg.get("path") or ()]
            found.append(call.lon_lat)
        return [*found, self.depot]


def outings(plan: Plain) -> list[Outing]:
    """Return the outings of a plan, by day and truck."""
    stops = {stop["stop"]: stop for stop in plan["stops"]}
    return [
        Outing(day, tuple(Call(leg, stops.get(leg.get("stop"))) for leg in day["legs"]))
        for day in plan["days"]
    ]


def calls_of(plan: Plain) -> Iterator[tuple[Outing, Call]]:
    """Yield every stop that is served, in the order of the plan."""
    for outing in outings(plan):
        for call in outing.stops:
            yield outing, call


def weekday_words(iso: str) -> str:
    """Return a day as ``Mon 14 Sep 2026``."""
    day = date.fromisoformat(iso)
    return f"{WEEKDAYS[day.weekday()]} {day_words(day)}"


def clock_words(iso: str) -> str:
    """Return the time of day of ``2026-09-14T07:42`` as ``07:42``."""
    return iso[11:16]


def minutes_words(minutes: float) -> str:
    """Return a time in whole minutes; a short one is never said to be none."""
    return "under 1 min" if 0 < minutes < 1 else f"{minutes:,.0f} min"


def amount_words(stop: Plain) -> str:
    """Return what a stop takes in words; empty where nothing is put down."""
    if not stop["mix"] or not stop["unit"]:
        return ""
    return f"{stop['amount']:,.1f} {stop['unit']} of {stop['mix']}"


def zone_words(stop: Plain) -> str:
    """Return a stop's zones with their treatable ground."""
    return "; ".join(
        f"{zone['zone']} ({zone['treatable_sqft']:,.0f} sq ft)" for zone in stop["zones"]
    )


def note_words(stop: Plain) -> list[str]:
    """Return what a crew must know of a stop before it gets there."""
    said = [f"Gate: {gate}" for gate in stop["gates"]]
    said += [f"Contact: {stop['contact']}"] if stop["contact"] else []
    said += [f"Not then: {stop['no_go']}"] if stop["no_go"] else []
    said += [f"Note: {stop['notes']}"] if stop["notes"] else []
    said += [f"{NOT_READY}: {why}" for why in stop["not_ready"]]
    return said


def sums_words(outing: Outing) -> str:
    """Return what an outing comes to."""
    of = outing.of
    count = len(outing.stops)
    parts = [
        f"{count} {'stop' if count == 1 else 'stops'}",
        f"{of['driving_min']:,.0f} min driving",
        f"{of['working_min']:,.0f} min working",
        f"{of['refill_min']:,.0f} min filling" if of["refills"] else "",
        f"{of['waiting_min']:,.0f} min waiting" if of["waiting_min"] >= 1 else "",
        f"{of['miles']:,.1f} miles",
    ]
    return ", ".join(part for part in parts if part)


def load_words(mix: Plain) -> str:
    """Return what is loaded of a mix, and how often a tank or hopper is filled."""
    tank = f"tank of {mix['tank']:,.0f} {mix['unit']}"
    return f"{mix['amount']:,.1f} {mix['unit']} of {mix['mix']}: {mix['tanks']:,.2f} × {tank}"
