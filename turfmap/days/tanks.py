"""Spray volume, full tanks and the part tank, and what goes into each."""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from turfmap.days.amounts import share
from turfmap.days.quantities import PLAY
from turfmap.foundations.errors import input_fault

if TYPE_CHECKING:
    from pint.registry import Quantity


@dataclass(frozen=True)
class Tanks:
    """How a load is mixed.

    Attributes
    ----------
    spray
        All that is sprayed: water with the product in it.
    full
        Tanks that are filled to the brim.
    area_of_one, product_of_one
        What a full tank covers, and the product that goes into it.
    part_spray, part_area, part_product
        The last tank, filled in part; all zero if there is none.
    """

    spray: "Quantity[float]"
    full: int
    area_of_one: "Quantity[float]"
    product_of_one: "Quantity[float]"
    part_spray: "Quantity[float]"
    part_area: "Quantity[float]"
    part_product: "Quantity[float]"

    @property
    def fillings(self) -> int:
        """How often a tank is filled, in whole or in part."""
        return self.full + bool(self.part_spray.magnitude)


def tanks(
    area: "Quantity[float]",
    *,
    per_area: "Quantity[float]",
    carrier: "Quantity[float]",
    tank: "Quantity[float]",
) -> Tanks:
    """Split a load into tanks.

    Parameters
    ----------
    area
        The ground to be treated [area].
    per_area
        The product on an area [volume or mass per area].
    carrier
        The spray on an area, product included [volume per area].
    tank
        What a tank holds [volume].
    """
    spray: Quantity[float] = (area * carrier).to(tank.units)
    count = share(spray, tank)
    full = math.floor(count * (1.0 + PLAY))
    rest = max(count - full, 0.0)
    part = rest if rest > PLAY * max(count, 1.0) else 0.0
    area_of_one: Quantity[float] = tank / carrier
    product_of_one: Quantity[float] = area_of_one * per_area
    return Tanks(
        spray,
        full,
        area_of_one,
        product_of_one,
        part_spray=part * tank,
        part_area=part * area_of_one,
        part_product=part * product_of_one,
    )


def check_carrier(per_area: "Quantity[float]", carrier: "Quantity[float]") -> None:
    """Refuse a spray volume that the product alone would fill.

    Raises
    ------
    InputFaultsError
        If there is no room for water in it.
    """
    if per_area.is_compatible_with(carrier) and share(per_area, carrier) >= 1.0:
        raise input_fault(
            "the product alone is more than the whole spray volume",
            "give a larger volume",
            record="--carrier",
        )
