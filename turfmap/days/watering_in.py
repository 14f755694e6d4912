"""Watering in: the depth asked for as gallons on the ground and minutes of a sprinkler."""

from typing import TYPE_CHECKING

from turfmap.days.quantities import quantity_of
from turfmap.foundations.errors import input_fault
from turfmap.foundations.units import quantity

if TYPE_CHECKING:
    from pint.registry import Quantity

FASTEST_IN_PER_H = 20.0


def volume_over(area: "Quantity[float]", *, depth_in: float) -> "Quantity[float]":
    """Return the volume of water, or of mulch, that covers an area to a depth [in]."""
    found: Quantity[float] = area * quantity_of(depth_in, "inch")
    return found


def minutes(depth_in: float, *, rate_in_per_h: float) -> float:
    """Return how long a sprinkler runs for a depth [in] at its precipitation rate [in/h] [min]."""
    return 60.0 * depth_in / rate_in_per_h


def precipitation(text: str, *, record: str) -> float:
    """Read a sprinkler's precipitation rate such as ``0.5 in/h`` or ``12 mm/h`` [in/h].

    Raises
    ------
    InputFaultsError
        If the text is no depth an hour, or not between 0 and 20 in/h.
    """
    depth, _, hour = text.replace(" per ", "/").partition("/")
    example = "0.5 in/h or 12 mm/h"
    if hour.strip().lower() not in {"h", "hr", "hour"}:
        raise input_fault(
            f"{text!r} is no precipitation rate", f"write it as {example}", record=record
        )
    found = quantity(depth, "inch", record=record, example=example)
    if not 0.0 < found <= FASTEST_IN_PER_H:
        raise input_fault(
            f"{text!r} is not between 0 and {FASTEST_IN_PER_H:g} in/h",
            "catch an hour's water in a straight-sided can and measure it",
            record=record,
        )
    return found
