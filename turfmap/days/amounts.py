"""Amounts in the trade's units and in metric ones, exact; and what to buy for them, rounded up.

The exact amount and the purchase are two figures: nothing is rounded before the last step.
"""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from turfmap.days.quantities import PLAY, quantity_of
from turfmap.foundations.units import registry

if TYPE_CHECKING:
    from pint.registry import Quantity

# Names as in results and on the screen, from the largest; the registry's names beside.
_VOLUMES = {
    "gal": "gallon",
    "qt": "quart",
    "fl_oz": "fluid_ounce",
    "l": "liter",
    "ml": "milliliter",
}
_MASSES = {"lb": "pound", "oz": "ounce", "kg": "kilogram", "g": "gram"}

# Gallons or pounds up to which quarts and ounces are told as well.
FEW = 20.0


@dataclass(frozen=True)
class Purchase:
    """What to buy.

    Attributes
    ----------
    amount
        At least the exact amount.
    packs
        How many packs that is; None where no pack is known.
    """

    amount: "Quantity[float]"
    packs: int | None = None


def is_volume(amount: "Quantity[float]") -> bool:
    """Return whether an amount is a volume; otherwise it is a mass."""
    return bool(amount.is_compatible_with("liter"))


def measures(amount: "Quantity[float]") -> dict[str, float | str]:
    """Return an amount in every unit of its kind, unrounded, and in words."""
    units = _VOLUMES if is_volume(amount) else _MASSES
    found: dict[str, float | str] = {name: _in(amount, unit) for name, unit in units.items()}
    return found | {"words": words(amount)}


def words(amount: "Quantity[float]") -> str:
    """Return an amount as it is measured out: ``11 gal 1 qt (42.6 L)``."""
    if is_volume(amount):
        gallons, litres = _in(amount, "gallon"), _in(amount, "liter")
        steps = (("gal", 128), ("qt", 32), ("fl oz", 1))
        parts = _steps(128.0 * gallons, steps) if gallons < FEW else f"{gallons:,.1f} gal"
        metric = _few(litres, "L") if litres >= 1 else _few(1000.0 * litres, "mL")
    else:
        pounds, kilograms = _in(amount, "pound"), _in(amount, "kilogram")
        parts = (
            _steps(16.0 * pounds, (("lb", 16), ("oz", 1))) if pounds < FEW else f"{pounds:,.1f} lb"
        )
        metric = _few(kilograms, "kg") if kilograms >= 1 else _few(1000.0 * kilograms, "g")
    return f"{parts} ({metric})"


def _few(number: float, unit: str) -> str:
    """Return a number with three figures that count, and all those before the point."""
    return f"{number:,.0f} {unit}" if number >= 100 else f"{number:.3g} {unit}"


def purchase(amount: "Quantity[float]", pack: "Quantity[float] | None") -> Purchase:
    """Return what to buy for an amount: whole packs, or whole ounces where no pack is known.

    Raises
    ------
    pint.DimensionalityError
        If one is a volume and the other a mass.
    """
    unit = "fluid_ounce" if is_volume(amount) else "ounce"
    step = quantity_of(1.0, unit) if pack is None else pack
    count = math.ceil(share(amount, step) * (1.0 - PLAY))
    bought: Quantity[float] = count * step
    return Purchase(bought, None if pack is None else count)


def share(part: "Quantity[float]", whole: "Quantity[float]") -> float:
    """Return how many times `whole` goes into `part`.

    Raises
    ------
    pint.DimensionalityError
        If they are of different kinds.
    """
    return _in(part, whole.units) / float(whole.magnitude)


def area(area_m2: float) -> "Quantity[float]":
    """Return an area [m2] as a quantity."""
    return quantity_of(area_m2, "meter ** 2")


def total(amounts: "list[Quantity[float]]") -> "Quantity[float]":
    """Return the sum of at least one amount, the rounding of the sum kept out.

    Raises
    ------
    pint.DimensionalityError
        If they are of different kinds.
    """
    unit = amounts[0].units
    return registry().Quantity(math.fsum(_in(amount, unit) for amount in amounts), unit)


def _in(amount: "Quantity[float]", unit: object) -> float:
    return float(amount.to(unit).magnitude)  # type: ignore[arg-type]


def _steps(smallest: float, steps: tuple[tuple[str, int], ...]) -> str:
    """Split a count of the smallest unit into larger ones; the last has one decimal at most."""
    decimals = 1 if smallest >= 1 else 3
    left = round(smallest, decimals)
    parts = []
    for name, size in steps[:-1]:
        count, left = divmod(left, size)
        if count:
            parts.append(f"{count:,.0f} {name}")
    left = round(left, decimals)
    if left or not parts:
        parts.append(f"{left:g} {steps[-1][0]}")
    return " ".join(parts)
