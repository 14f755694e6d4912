"""A load as plain data: amounts, tanks, water, nutrients, what to buy and what is left over."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from turfmap.days.amounts import area, is_volume, measures, purchase, total
from turfmap.days.mixes import Mix, Part
from turfmap.days.products import PHOSPHORUS_OF_PHOSPHATE, POTASSIUM_OF_POTASH, Product
from turfmap.days.quantities import Rate, exceeds
from turfmap.days.tanks import Tanks, check_carrier, tanks
from turfmap.days.watering_in import minutes, volume_over
from turfmap.days.zone_loads import as_plain
from turfmap.foundations.errors import Fault, InputFaultsError
from turfmap.foundations.units import acres, square_feet

if TYPE_CHECKING:
    from pint.registry import Quantity

Plain = dict[str, Any]
NUTRIENTS = {
    "nitrogen": ("nitrogen_pct", 1.0),
    "phosphate": ("phosphate_pct", 1.0),
    "phosphorus": ("phosphate_pct", PHOSPHORUS_OF_PHOSPHATE),
    "potash": ("potash_pct", 1.0),
    "potassium": ("potash_pct", POTASSIUM_OF_POTASH),
}


@dataclass(frozen=True)
class Equipment:
    """What the crew works with; None where not given.

    Attributes
    ----------
    carrier
        The spray volume on an area.
    tank
        What the tank holds.
    precipitation_in_per_h
        What the client's sprinklers give.
    """

    carrier: Rate | None = None
    tank: "Quantity[float] | None" = None
    precipitation_in_per_h: float | None = None


def load_sheet(mix: Mix, product: Product, equipment: Equipment) -> Plain:
    """Return a load as plain data.

    Raises
    ------
    InputFaultsError
        If the carrier is outside what the label gives, or does not go with the rest.
    """
    _check(product, equipment)
    groups = [_group(parts, product, equipment) for parts in mix.groups]
    amounts = [part.amount for parts in mix.groups for part in parts]
    exact = total(amounts)
    return {
        "loads": groups,
        "left_out": [
            {"property": zone["property"], "zone": zone["name"], "why": list(why)}
            for zone, why in mix.left_out
        ],
        "exact": measures(exact),
        **_bought(exact, product),
    }


def _bought(exact: "Quantity[float]", product: Product) -> Plain:
    pack = product.pack
    if pack is not None and is_volume(pack) != is_volume(exact):
        pack = None
    bought = purchase(exact, pack)
    over: Quantity[float] = bought.amount - exact
    return {
        "purchase": measures(bought.amount)
        | {"packs": bought.packs, "pack": product.row["pack"] if pack is not None else None},
        "left_over": measures(over),
    }


def _group(parts: Sequence[Part], product: Product, equipment: Equipment) -> Plain:
    """Return one mix: the zones that it may touch and what it is made of."""
    ground = total([area(part.zone["treatable_m2"]) for part in parts])
    per_area = parts[0].per_area
    area_m2 = float(ground.to("meter ** 2").magnitude)
    return {
        "rate": parts[0].rate.rate.words,
        "zones": [_zone(part) for part in parts],
        "area_m2": area_m2,
        "area_sqft": square_feet(area_m2),
        "acres": acres(area_m2),
        "exact": measures(total([part.amount for part in parts])),
        "spray": _spray(ground, per_area, equipment),
        "water_in": _water_in(ground, product, equipment),
        "nutrients": _nutrients(product, per_area),
    }


def _zone(part: Part) -> Plain:
    return {
        "property": part.zone["property"],
        "zone": part.zone["name"],
        "species": part.zone["species"],
        "treatable_m2": part.zone["treatable_m2"],
        "treatable_sqft": square_feet(part.zone["treatable_m2"]),
        "exact": measures(part.amount),
        "actives": [as_plain(one) for one in part.sums],
        "cautions": list(part.cautions),
    }


def _spray(
    ground: "Quantity[float]", per_area: "Quantity[float]", equipment: Equipment
) -> Plain | None:
    if equipment.carrier is None:
        return None
    carrier = equipment.carrier.per_area
    check_carrier(per_area, carrier)
    spray: Quantity[float] = ground * carrier
    product: Quantity[float] = ground * per_area
    water_volume: Quantity[float] = spray - product if is_volume(product) else spray
    found = {
        "carrier": equipment.carrier.words,
        "volume": measures(spray),
        "water": measures(water_volume),
        "tanks": None,
    }
    if equipment.tank is not None:
        filled = tanks(ground, per_area=per_area, carrier=carrier, tank=equipment.tank)
        found["tanks"] = _tanks(filled, equipment.tank)
    return found


def _tanks(filled: Tanks, tank: "Quantity[float]") -> Plain:
    found: Plain = {"tank": measures(tank), "fillings": filled.fillings, "full": filled.full}
    found |= {"each_full": None, "part": None}
    if filled.full:
        found["each_full"] = {
            "product": measures(filled.product_of_one),
            "covers_sqft": square_feet(float(filled.area_of_one.to("meter ** 2").magnitude)),
        }
    if filled.part_spray.magnitude:
        found["part"] = {
            "volume": measures(filled.part_spray),
            "product": measures(filled.part_product),
            "covers_sqft": square_feet(float(filled.part_area.to("meter ** 2").magnitude)),
        }
    return found


def _water_in(ground: "Quantity[float]", product: Product, equipment: Equipment) -> Plain | None:
    depth_in = product.row["water_in_depth_in"]
    if not depth_in:
        return None
    rate = equipment.precipitation_in_per_h
    return {
        "depth_in": depth_in,
        "within_d": product.row["water_in_within_d"],
        "volume": measures(volume_over(ground, depth_in=depth_in)),
        "minutes": None if rate is None else minutes(depth_in, rate_in_per_h=rate),
    }


def _nutrients(product: Product, per_area: "Quantity[float]") -> Plain | None:
    """Return what is fed [lb per 1,000 sq ft]; None for what is no fertiliser."""
    if not product.feeds:
        return None
    found: Plain = {}
    for name, (column, share) in NUTRIENTS.items():
        mass = product.nutrient_within(column, per_area)
        found[f"{name}_lb_per_1000_sq_ft"] = (
            None if mass is None else 1000.0 * share * float(mass.to("pound / foot ** 2").magnitude)
        )
    return found


def _check(product: Product, equipment: Equipment) -> None:
    """Refuse equipment that does not go with the product or with itself."""
    carrier, formulation = equipment.carrier, product.formulation
    faults = []
    if equipment.tank is not None and carrier is None:
        problem = "how far a tank goes is not known"
        faults.append(Fault("", "--tank", problem, 'add --carrier, such as "1 gal/1000 sq ft"'))
    if carrier is not None and formulation and formulation["applied"] == "spread":
        problem = f"{product.name} is spread dry, not sprayed"
        faults.append(Fault("", "--carrier", problem, "leave --carrier and --tank out"))
    if carrier is not None and not carrier.is_volume:
        problem = f"{carrier.words} is no volume for an area"
        faults.append(Fault("", "--carrier", problem, "write it as 1 gal/1000 sq ft"))
    elif carrier is not None:
        faults += _outside(carrier, product)
    if faults:
        raise InputFaultsError(faults)


def _outside(carrier: Rate, product: Product) -> list[Fault]:
    low, high = product.carrier_low, product.carrier_high
    found = []
    if low is not None and exceeds(low.per_area, carrier.per_area):
        found.append(("below", low))
    if high is not None and exceeds(carrier.per_area, high.per_area):
        found.append(("above", high))
    return [
        Fault(
            "",
            "--carrier",
            f"{carrier.words} is {side} the {most.words} on the label of {product.name}",
            "set the sprayer to what the label gives",
        )
        for side, most in found
    ]
