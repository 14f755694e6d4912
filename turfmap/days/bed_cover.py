"""Straw, bark and mulch for beds: bales by the ground that each covers, volume by its depth."""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from turfmap.days.amounts import area, purchase
from turfmap.days.quantities import PLAY, quantity_of
from turfmap.days.watering_in import volume_over
from turfmap.foundations.units import square_feet

if TYPE_CHECKING:
    from pint.registry import Quantity


@dataclass(frozen=True)
class Cover:
    """What covers beds.

    Attributes
    ----------
    cubic_yards
        The volume, exact; None for bales.
    to_buy
        Whole cubic yards, bags or bales.
    unit
        What is bought: cubic yard, bag or bale.
    """

    cubic_yards: float | None
    to_buy: int
    unit: str


def bales(area_m2: float, *, covers_sqft: float) -> Cover:
    """Return how many bales cover a bed [m2] if one covers so much [sq ft]."""
    count = square_feet(area_m2) / covers_sqft
    return Cover(None, math.ceil(count * (1.0 - PLAY)), "bale")


def loose(
    area_m2: float, *, depth_in: float, there_in: float = 0.0, bag_cu_ft: float | None = None
) -> Cover:
    """Return how much loose material brings a bed to a depth.

    Parameters
    ----------
    area_m2
        The bed [m2].
    depth_in, there_in
        The depth wanted, and what lies there already [in].
    bag_cu_ft
        What a bag holds [cu ft]; None: it is bought by the cubic yard.
    """
    volume = volume_over(area(area_m2), depth_in=max(depth_in - there_in, 0.0))
    yard = quantity_of(1.0, "yard ** 3")
    pack: Quantity[float] = yard if bag_cu_ft is None else quantity_of(bag_cu_ft, "foot ** 3")
    exact = float(volume.to("yard ** 3").magnitude)
    packs = purchase(volume, pack).packs or 0
    return Cover(exact, packs, "cubic yard" if bag_cu_ft is None else "bag")
