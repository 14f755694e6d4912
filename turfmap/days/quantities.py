"""Rates and amounts as labels print them, read into quantities that know their units.

An ounce by weight and a fluid ounce are different kinds of thing here, and adding them is an
error: all sums are done on `pint` quantities, and nothing is rounded.
"""

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from turfmap.foundations.errors import input_fault
from turfmap.foundations.units import number, registry

if TYPE_CHECKING:
    from pint.registry import Quantity

# How labels and people write a unit, and its name in the registry. US units of volume.
_AMOUNTS = {
    "fl oz": "fluid_ounce",
    "floz": "fluid_ounce",
    "fluid ounce": "fluid_ounce",
    "tsp": "teaspoon",
    "tbsp": "tablespoon",
    "cup": "cup",
    "pt": "pint",
    "pint": "pint",
    "qt": "quart",
    "quart": "quart",
    "gal": "gallon",
    "gallon": "gallon",
    "ml": "milliliter",
    "l": "liter",
    "liter": "liter",
    "litre": "liter",
    "oz": "ounce",
    "ounce": "ounce",
    "lb": "pound",
    "pound": "pound",
    "g": "gram",
    "gram": "gram",
    "kg": "kilogram",
    "ton": "short_ton",
}
_AREAS = {
    "sq ft": "foot ** 2",
    "sqft": "foot ** 2",
    "ft2": "foot ** 2",
    "ft²": "foot ** 2",
    "square foot": "foot ** 2",
    "square feet": "foot ** 2",
    "acre": "acre",
    "ac": "acre",
    "a": "acre",
    "m2": "meter ** 2",
    "m²": "meter ** 2",
    "sq m": "meter ** 2",
    "ha": "hectare",
    "hectare": "hectare",
}
# What a rate is a rate of; acid equivalent (ae) is counted like active ingredient (ai).
_OF = {"ai": "active", "ae": "active", "active": "active", "product": "product", "n": "nitrogen"}

_NUMBER = r"([-+]?(?:\d[\d,]*\.?\d*|\.\d+))"
_AMOUNT = re.compile(rf"{_NUMBER}\s*([a-z .]+?)(?:\s+(ai|ae|active|product|n))?")
_RATE = re.compile(r"(.+?)\s*(?:/|\bper\b)\s*(\d[\d,]*)?\s*([a-z .]+[2²]?)")
LONGEST_TEXT = 60
# The play of the last binary digits never breaks a limit, buys a pack or fills a tank.
PLAY = 1e-9
# A centimetre of water over the ground, and as much by weight: more is a slip of the keyboard.
MOST_L_PER_M2 = 10.0
MOST_KG_PER_M2 = 10.0
MOST_TANK_L = 200_000.0


@dataclass(frozen=True)
class Rate:
    """An amount for an area of ground.

    Attributes
    ----------
    per_area
        The amount per area, a volume or a mass.
    of
        ``product``, ``active`` or ``nitrogen``; empty where the text does not say.
    words
        As it was written.
    """

    per_area: "Quantity[float]"
    of: str
    words: str

    @property
    def is_volume(self) -> bool:
        """Whether it is a volume for an area."""
        return bool(self.per_area.is_compatible_with("liter / meter ** 2"))


def rate(text: str, *, record: str) -> Rate:
    """Read a rate such as ``3 fl oz/1000 sq ft``, ``1.5 pt/acre`` or ``1 lb ai per acre``.

    Raises
    ------
    InputFaultsError
        If the text is no such rate, or is zero, negative or absurdly large.
    """
    mend = "write it as the label prints it, such as 3 fl oz/1000 sq ft or 1.5 lb ai/acre"
    found = _RATE.fullmatch(_plain(text))
    area_unit = _AREAS.get(_singular(found[3])) if found else None
    if found is None or area_unit is None:
        raise input_fault(f"{text[:LONGEST_TEXT]!r} is not a rate", mend, record=record)
    top, of = _amount(found[1], text, mend, record)
    how_many = number(found[2] or "1", record=record)
    if not how_many:
        raise input_fault(f"{text[:LONGEST_TEXT]!r} is for no area", mend, record=record)
    per_area: Quantity[float] = top / quantity_of(how_many, area_unit)
    is_volume = per_area.is_compatible_with("liter / meter ** 2")
    if is_volume and of in {"active", "nitrogen"}:
        raise input_fault(
            f"{text[:LONGEST_TEXT]!r} measures {of} by volume", "give it by weight", record=record
        )
    unit, most = (
        ("liter / meter ** 2", MOST_L_PER_M2)
        if is_volume
        else ("kilogram / meter ** 2", MOST_KG_PER_M2)
    )
    if per_area.to(unit).magnitude > most:
        raise input_fault(
            f"{text[:LONGEST_TEXT]!r} is more than any ground is given", mend, record=record
        )
    return Rate(per_area, of, " ".join(text.split()))


def amount(text: str, *, record: str) -> "Quantity[float]":
    """Read an amount such as ``100 gal`` or ``50 lb``.

    Raises
    ------
    InputFaultsError
        If the text is no number with a unit of volume or weight, or is not above zero.
    """
    mend = "write a number with its unit, such as 100 gal or 50 lb"
    found, _of = _amount(_plain(text), text, mend, record)
    return found


def volume(text: str, *, record: str) -> "Quantity[float]":
    """Read a volume such as ``100gal``; up to 200,000 litres."""
    found = amount(text, record=record)
    if not found.is_compatible_with("liter") or found.to("liter").magnitude > MOST_TANK_L:
        raise input_fault(
            f"{text[:LONGEST_TEXT]!r} is not the volume of a tank",
            "write it as 100 gal",
            record=record,
        )
    return found


def concentration(text: str, *, record: str) -> "Quantity[float]":
    """Read what a product holds: ``4 lb/gal``, ``480 g/l``, or a share by weight, ``65 %``.

    Returns
    -------
    pint.Quantity
        A mass per volume, or a share from 0 to 1.
    """
    mend = "write it as the label prints it: 4 lb/gal, 480 g/l or 65 %"
    plain = _plain(text)
    share = re.fullmatch(rf"{_NUMBER}\s*(?:%|percent|pct)", plain)
    per_volume = re.fullmatch(
        rf"{_NUMBER}\s*(lb|g|kg)s?\s*(?:ai|ae)?\s*(?:/|\bper\b)\s*(gal|gallon|l|litre|liter)", plain
    )
    if share:
        found = quantity_of(number(share[1], record=record) / 100.0, "dimensionless")
        most = quantity_of(1.0, "dimensionless")
    elif per_volume:
        unit = f"{_AMOUNTS[per_volume[2]]} / {_AMOUNTS[per_volume[3]]}"
        found = quantity_of(number(per_volume[1], record=record), unit)
        most = quantity_of(20.0, "pound / gallon")
    else:
        raise input_fault(f"{text[:LONGEST_TEXT]!r} is not a concentration", mend, record=record)
    if not 0.0 < found.to(most.units).magnitude <= most.magnitude:
        raise input_fault(f"{text[:LONGEST_TEXT]!r} cannot be", mend, record=record)
    return found


def quantity_of(how_much: float, unit: str) -> "Quantity[float]":
    """Return a number with a unit of the registry."""
    return registry().Quantity(how_much, unit)


def exceeds(amount: "Quantity[float]", limit: "Quantity[float]") -> bool:
    """Return whether an amount breaks a limit of its own kind.

    Raises
    ------
    pint.DimensionalityError
        If they are of different kinds.
    """
    return is_above(float(amount.to(limit.units).magnitude), float(limit.magnitude))


def is_above(amount: float, limit: float) -> bool:
    """Return whether an amount breaks a limit in the same unit."""
    return amount > limit * (1.0 + PLAY)


def _amount(plain: str, text: str, mend: str, record: str) -> "tuple[Quantity[float], str]":
    found = _AMOUNT.fullmatch(plain.strip())
    unit = _AMOUNTS.get(_singular(found[2])) if found else None
    if found is None or unit is None:
        raise input_fault(f"{text[:LONGEST_TEXT]!r} is not understood", mend, record=record)
    how_much = number(found[1], record=record)
    if not how_much > 0.0:
        raise input_fault(f"{text[:LONGEST_TEXT]!r} is not above zero", mend, record=record)
    return quantity_of(how_much, unit), _OF.get(found[3] or "", "")


def _plain(text: str) -> str:
    """Return the text in small letters with single spaces, cut to what any unit needs."""
    return " ".join(text.lower()[: LONGEST_TEXT + 1].split()) if len(text) <= LONGEST_TEXT else ""


def _singular(unit: str) -> str:
    words = unit.replace(".", "").strip()
    known = _AMOUNTS.keys() | _AREAS.keys()
    return words if words in known else words.removesuffix("s")
