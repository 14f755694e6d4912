"""A load worked out: which zones it may touch, how much goes on each, and what breaks a limit."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING, Any

from turfmap.days.amounts import area
from turfmap.days.answers import answers_for
from turfmap.days.bearing import Verdict, bearing
from turfmap.days.knowledge import Knowledge, shipped
from turfmap.days.label_rates import LabelRate, check_target, rate_for
from turfmap.days.products import Product, mixed_units
from turfmap.days.quantities import Rate
from turfmap.days.record import applied_on
from turfmap.days.zone_loads import ActiveSum, active_sums, broken, off_label, too_soon
from turfmap.foundations.definitions import Row
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault

if TYPE_CHECKING:
    from pint.registry import Quantity

Zone = Mapping[str, Any]


@dataclass(frozen=True)
class Book:
    """The user's products by name, and rows of product_rate, visit and client_answer, tables."""

    products: Mapping[str, Product]
    rates: Sequence[Row] = ()
    visits: Sequence[Row] = ()
    answers: Sequence[Row] = ()
    known: Knowledge = field(default_factory=shipped)


@dataclass(frozen=True)
class Wish:
    """What the user asks for.

    Attributes
    ----------
    product
        What is to be applied.
    rate
        A rate for this load that stands in for the label's usual one.
    target
        What it is for, where the label's rates differ by it.
    day
        When it is to go out.
    """

    product: Product
    rate: Rate | None = None
    target: str | None = None
    day: date | None = None


@dataclass(frozen=True)
class Part:
    """One zone's part of a load.

    Attributes
    ----------
    zone
        With ``property, name, kind, species, treatable_m2``.
    rate
        As the label or the user gives it.
    per_area
        The product for it [volume or mass per area].
    """

    zone: Zone
    rate: LabelRate
    per_area: "Quantity[float]"
    sums: tuple[ActiveSum, ...]
    cautions: tuple[str, ...]

    @property
    def amount(self) -> "Quantity[float]":
        """The product that goes on the zone, exact."""
        found: Quantity[float] = area(self.zone["treatable_m2"]) * self.per_area
        return found


@dataclass(frozen=True)
class Mix:
    """A load in its parts, grouped by mix, and the zones that it must not touch, each with why."""

    groups: tuple[tuple[Part, ...], ...]
    left_out: tuple[tuple[Zone, tuple[str, ...]], ...]


def mixed(zones: Sequence[Zone], wish: Wish, book: Book) -> Mix:
    """Work a load out for zones.

    Parameters
    ----------
    zones
        Each with ``property, name, kind, species, treatable_m2``.
    wish
        What is to be applied.
    book
        The user's products and records.

    Raises
    ------
    InputFaultsError
        With one sentence for each limit that the load breaks on any zone, the sum shown; or if it
        may touch no zone at all.
    """
    if not zones:
        raise input_fault("there is no zone on that ground", "draw or import its zones first")
    rows = [row for row in book.rates if row["product"] == wish.product.name]
    check_target(wish.product, rows, wish.target)
    _check_kind(wish)
    parts: list[Part] = []
    left_out: list[tuple[Zone, tuple[str, ...]]] = []
    faults: list[Fault] = []
    visits, said = _by_property(book.visits), _by_property(book.answers)
    for zone in zones:
        of = zone["property"]
        near = replace(book, visits=visits.get(of, ()), answers=said.get(of, ()))
        label = rate_for(wish.product, rows, species=zone["species"], target=wish.target)
        answers = answers_for(zone, near.answers, near.visits, wish.day)
        verdict = bearing(wish.product, zone, answers, wish.day, book.known)
        against = verdict.against or _no_ground(zone) or _no_rate(label, wish)
        if against:
            left_out.append((zone, against))
            continue
        part, broken_limits = _part(zone, wish, label, verdict, near)
        parts.append(part)
        faults += [Fault("", _named(zone), *words) for words in broken_limits]
    if faults:
        raise InputFaultsError(faults)
    if not parts:
        raise _nothing_left(wish.product, left_out)
    _check_one_kind(wish.product, parts)
    return Mix(_grouped(parts), tuple(left_out))


def _by_property(rows: Sequence[Row]) -> dict[str, list[Row]]:
    found: dict[str, list[Row]] = {}
    for row in rows:
        found.setdefault(row["property"], []).append(row)
    return found


def _part(
    zone: Zone, wish: Wish, label: LabelRate | None, verdict: Verdict, book: Book
) -> tuple[Part, list[tuple[str, str]]]:
    """Return a zone's part of the load and the limits that it breaks there."""
    product = wish.product
    rate = wish.rate or (label.rate if label else None)
    if rate is None:
        raise ValueError("a zone without a rate is left out before")
    per_area = product.product_for(rate)
    if per_area is None:
        raise input_fault(
            f"{rate.words} is a rate of {rate.of}, and how much of it {product.name} holds is not"
            " entered",
            "enter its concentrations or nitrogen_pct, or give a rate of the product",
            record="--rate",
        )
    applied = {
        active.name: applied_on(zone, active.name, book.visits, book.products, book.known)
        for active in product.actives
    }
    sums = active_sums(product, per_area, applied, wish.day, book.known)
    high = label.high if label else None
    limits = off_label(product, rate, high) + broken(sums)
    limits += too_soon(product, applied, wish.day, book.known)
    shown = LabelRate(rate, label.low if label else None, high)
    return Part(zone, shown, per_area, tuple(sums), verdict.cautions), limits


def _check_kind(wish: Wish) -> None:
    """Refuse a rate by weight of a liquid, and one by volume of what is dry.

    Raises
    ------
    InputFaultsError
        If an ounce by weight was written where a fluid ounce is meant, or the like.
    """
    rate, is_liquid = wish.rate, wish.product.is_liquid
    if rate is None or is_liquid is None or rate.of in {"active", "nitrogen"}:
        return
    if rate.is_volume != is_liquid:
        raise input_fault(*mixed_units(rate.words, is_liquid=is_liquid), record="--rate")


def _check_one_kind(product: Product, parts: Sequence[Part]) -> None:
    """Refuse a load of which some is by volume and some by weight: nothing could be summed.

    Raises
    ------
    InputFaultsError
        If the label's rates for different grasses are of different kinds.
    """
    first = parts[0]
    for part in parts:
        if not part.per_area.is_compatible_with(first.per_area):
            raise input_fault(
                f"{first.rate.rate.words} and {part.rate.rate.words} of {product.name} are of"
                " different kinds",
                "enter its formulation, and its rates by volume if it is a liquid, else by weight",
            )


def _no_ground(zone: Zone) -> tuple[str, ...]:
    return () if zone["treatable_m2"] > 0.0 else ("none of it may be treated",)


def _no_rate(label: LabelRate | None, wish: Wish) -> tuple[str, ...]:
    if label is not None or wish.rate is not None:
        return ()
    return ("the book holds no label rate for its grass: enter one, or give --rate",)


def _named(zone: Zone) -> str:
    return f"{zone['property']} / {zone['name']}"


def _nothing_left(
    product: Product, left_out: Sequence[tuple[Zone, tuple[str, ...]]]
) -> InputFaultsError:
    return InputFaultsError(
        Fault("", _named(zone), f"{product.name} may not go here: {'; '.join(why)}", "")
        for zone, why in left_out
    )


def _grouped(parts: Sequence[Part]) -> tuple[tuple[Part, ...], ...]:
    """Group zones that one mix serves: one rate."""
    groups: dict[Any, list[Part]] = {}
    for part in parts:
        key = (str(part.per_area.dimensionality), float(part.per_area.to_base_units().magnitude))
        groups.setdefault(key, []).append(part)
    return tuple(tuple(group) for group in groups.values())
