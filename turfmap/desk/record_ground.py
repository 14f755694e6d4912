"""The ground of a record: which zones it covers, how much of each, and what the map knows of it."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import accumulate, pairwise
from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd
import shapely

from turfmap.desk.area import measured
from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.place import LON_LAT, read_place, with_property
from turfmap.desk.protected import Overrides
from turfmap.desk.record_asked import Asked
from turfmap.foundations.definitions import Row, table
from turfmap.foundations.errors import Fault, InputFaultsError
from turfmap.foundations.units import area_words
from turfmap.ground.drawn import drawn_areas
from turfmap.ground.treatable import Treatable
from turfmap.store import geopackage

# More than this of one product on a square metre is a slip of the keyboard, not a treatment:
# half an inch of sand is less. Our own decision.
MOST_L_OR_KG_PER_M2 = 20.0
LEAST_M2 = 0.05
# How much more than the map shows a person may say was treated, as measuring on foot is coarse.
SLACK = 1.01


class Ground:
    """What the place's file knows, read once for a run of records."""

    def __init__(self, path: Path) -> None:
        properties = geopackage.read_layer(path, "property").to_crs(LON_LAT)
        zones = with_property(geopackage.read_layer(path, "zone").to_crs(LON_LAT), properties)
        self.path = path
        self.properties: dict[str, Row] = _by_name(properties)
        self.products: dict[str, Row] = _by_name(geopackage.read_layer(path, "product"))
        self.zones: dict[str, dict[str, Row]] = {
            str(name): _by_name(mine) for name, mine in zones.groupby("property", sort=False)
        }
        self._measured: dict[tuple[str, str | None], tuple[dict[str, Any], Treatable]] = {}

    def measured(self, property_name: str, product: str | None) -> tuple[dict[str, Any], Treatable]:
        """Return `turfmap.desk.area.measured` of one property for one product."""
        key = (property_name, product)
        if key not in self._measured:
            place = read_place(
                self.path,
                property_name=property_name,
                product=product,
                overrides=Overrides({}),
            )
            self._measured[key] = measured(place)
        return self._measured[key]


def _by_name(frame: gpd.GeoDataFrame) -> dict[str, Row]:
    named = frame.drop(columns="geometry").assign(shape=shapes_of(frame)).astype(object)
    rows = named.where(named.notna(), None).to_dict("records")
    return {str(row["name"]): row for row in rows}


def is_chemical(row: Mapping[str, Any]) -> bool:
    """Tell whether the rules on records of chemicals ask about a visit."""
    task = table("task").by("task").get(row["task"], {})
    return bool(task.get("chemical")) or bool(row["registration_number"])


def rows_on_ground(
    asked: Asked, ground: Ground
) -> tuple[list[Row], list[Fault], list[str], list[str]]:
    """Return a record as one row a zone, amounts shared by area.

    Returns
    -------
    rows : list of dict
        Values for each column of the layer visit; areas in m2.
    faults : list of Fault
        All that the map says is wrong with it.
    notes, cautions : list of str
        What was done, and what to mind.
    """
    faults = _place_faults(asked, ground)
    if faults:
        return [], faults, [], []
    values = known_facts(asked.values, ground)
    zones = _zones(asked, ground)
    try:
        areas, notes, cautions = _areas(asked, zones, ground)
    except InputFaultsError as error:
        return (
            [],
            [replace(one, file=asked.file, record=asked.where) for one in error.faults],
            [],
            [],
        )
    faults = _area_faults(asked, areas)
    if faults:
        return [], faults, [], []
    shared = _shared(values["amount"], list(areas.values()))
    found_by = _found_by(asked, areas)
    rows = [
        values
        | {"zone": zone, "area_treated_m2": size, "amount": amount, "area_found_by": found_by}
        | {"amount_unit": values["amount_unit"] if amount is not None else None}
        | _where(asked, zone, ground)
        for (zone, size), amount in zip(areas.items(), shared, strict=True)
    ]
    return rows, [], notes, cautions


def _place_faults(asked: Asked, ground: Ground) -> list[Fault]:
    name = asked.values["property"]
    if asked.kept is not None:
        return []  # a place that was renamed since can still be corrected
    known = ground.properties.keys() | ground.zones.keys()
    if name not in known:
        return [asked.fault(f"there is no property {name!r}", f"choose one of {_few(known)}")]
    there = ground.zones.get(name, {})
    return [
        asked.fault(f"property {name!r} has no zone {zone!r}", f"choose one of {_few(there)}")
        for zone in asked.zones
        if zone not in there
    ]


def _few(names: Sequence[str] | Any) -> str:
    return ", ".join(sorted(names)[:10]) or "none yet"


def known_facts(said: Row, ground: Ground) -> Row:
    """Fill in what the file knows and nobody said, as it is today."""
    of = ground.properties.get(said["property"], {})
    product = ground.products.get(said["product"] or "", {})
    known = {
        "customer": of.get("client"),
        "customer_address": of.get("address"),
        "registration_number": product.get("registration_number"),
    }
    return said | {name: said[name] or value for name, value in known.items()}


def _zones(asked: Asked, ground: Ground) -> list[str | None]:
    """Return the zones meant: named, or all that the task is for, or the whole property."""
    if asked.kept is not None:
        return list(asked.kept)
    if asked.zones:
        return list(asked.zones)
    kinds = table("task").by("task")[asked.values["task"]]["ground"].split(";")
    there = ground.zones.get(asked.values["property"], {})
    return [name for name, zone in there.items() if zone["kind"] in kinds] or [None]


def _areas(
    asked: Asked, zones: Sequence[str | None], ground: Ground
) -> tuple[dict[str | None, float | None], list[str], list[str]]:
    """Return how much ground of each zone was treated [m2], None where nobody asks."""
    if asked.kept is not None:
        return {zone: row["area_treated_m2"] for zone, row in asked.kept.items()}, [], []
    wants_area = asked.values["product"] or asked.area_m2 is not None or asked.drawn is not None
    if not wants_area:
        return dict.fromkeys(zones), [], []
    found, treatable = ground.measured(asked.values["property"], asked.values["product"])
    by_zone = {zone["zone"]: zone for zone in found["zones"]}
    mine = [by_zone[zone] for zone in zones if zone is not None]
    if not mine:
        return {None: asked.area_m2}, [], list(found["cautions"])
    if asked.drawn is not None:
        drawn, more = _drawn(asked.drawn, found["zones"], treatable, set(zones))
        return drawn, [], [*found["cautions"], *more]
    if asked.area_m2 is not None:
        shared, more = _given(asked, mine)
        return shared, [], [*found["cautions"], *more]
    areas: dict[str | None, float | None] = {
        zone["zone"]: zone["treatable_m2"] for zone in mine if zone["treatable_m2"] > LEAST_M2
    }
    left = [zone["zone"] for zone in mine if zone["zone"] not in areas]
    notes = [f"Area: the treatable ground of {', '.join(map(str, areas))}."] if areas else []
    notes += [f"Left out, as nothing of it may be treated: {', '.join(left)}."] if left else []
    return areas, notes, list(found["cautions"])


def _drawn(
    drawn: shapely.Geometry,
    measured_zones: Sequence[Mapping[str, Any]],
    treatable: Treatable,
    wanted: set[str | None],
) -> tuple[dict[str | None, float | None], list[str]]:
    """Return what was drawn of each zone, less what may not be treated."""
    treated_m2, drawn_m2 = drawn_areas(treatable, drawn)
    areas: dict[str | None, float | None] = {
        zone["zone"]: float(size)
        for zone, size in zip(measured_zones, treated_m2, strict=True)
        if zone["zone"] in wanted and size > LEAST_M2
    }
    left_m2 = drawn_m2 - sum(size or 0.0 for size in areas.values())
    cautions = [
        f"{area_words(left_m2)} of what was drawn is not counted: it lies outside the zones, under"
        " obstacles or on no-spray ground. If it was treated all the same, see the label and local"
        " rules on what to do."
    ]
    return areas, cautions if left_m2 > drawn_m2 * (SLACK - 1.0) else []


def _given(
    asked: Asked, zones: Sequence[Mapping[str, Any]]
) -> tuple[dict[str | None, float | None], list[str]]:
    """Share a given area among zones by what of each may be treated."""
    given_m2 = asked.area_m2 or 0.0
    treatable_m2 = sum(zone["treatable_m2"] for zone in zones)
    weight = "treatable_m2" if treatable_m2 > LEAST_M2 else "gross_m2"
    shares = _shared(given_m2, [zone[weight] for zone in zones])
    areas: dict[str | None, float | None] = {
        zone["zone"]: share for zone, share in zip(zones, shares, strict=True) if share
    }
    gross_m2 = sum(zone["gross_m2"] for zone in zones)
    if given_m2 > gross_m2 * SLACK:
        raise InputFaultsError(
            [
                asked.fault(
                    f"{area_words(given_m2)} is more than its zones have ({area_words(gross_m2)})",
                    "correct the area, or name every zone that was treated",
                )
            ]
        )
    over = given_m2 > treatable_m2 * SLACK
    cautions = [
        f"{area_words(given_m2)} is more than may be treated there ({area_words(treatable_m2)}):"
        " no-spray ground may have been treated. See the label and local rules on what to do."
    ]
    return areas, cautions if over else []


def _area_faults(asked: Asked, areas: Mapping[str | None, float | None]) -> list[Fault]:
    if not areas:
        problem = "nothing of these zones may be treated with that product"
        return [asked.fault(problem, "look at turfmap area, and give --area if it was treated")]
    total_m2 = sum(size or 0.0 for size in areas.values())
    amount, unit = asked.values["amount"], asked.values["amount_unit"]
    if amount is None or not total_m2:
        return []
    in_si = amount * table("amount_unit").by("amount_unit")[unit]["in_si"]
    if in_si / total_m2 <= MOST_L_OR_KG_PER_M2:
        return []
    problem = f"{amount:g} {unit} on {area_words(total_m2)} is absurd"
    return [asked.fault(problem, "correct the amount, its unit or the area")]


def _found_by(asked: Asked, areas: Mapping[str | None, float | None]) -> str | None:
    if asked.kept is not None:
        older: str | None = next(iter(asked.kept.values()))["area_found_by"]
        return older
    if not any(areas.values()):
        return None
    if asked.drawn is not None:
        return "drawn"
    return "treatable" if asked.area_m2 is None else "given"


def _shared(total: float | None, weights: Sequence[float | None]) -> list[float | None]:
    """Share a total by weights so that the parts sum to it."""
    sizes = [weight or 0.0 for weight in weights]
    if total is None or not sum(sizes):
        return [total, *[None] * (len(sizes) - 1)]
    # From running totals, so that no part is below nothing and the last ends at the total.
    ends = [total * (end / sum(sizes)) for end in accumulate(sizes)]
    return [end - start for start, end in pairwise([0.0, *ends])]


def _where(asked: Asked, zone: str | None, ground: Ground) -> Row:
    values = asked.values
    if asked.kept is not None:
        older = asked.kept[zone]
        return {"location": older["location"], "site": values["site"] or older["site"]}
    of = ground.zones.get(values["property"], {}).get(zone or "", {})
    place = ground.properties.get(values["property"], {})
    shape = of.get("shape") or place.get("shape")
    at = "" if shape is None or shape.is_empty else _point_words(shape)
    named = " / ".join(part for part in (values["property"], zone) if part)
    location = "; ".join(part for part in (place.get("address"), named, at) if part)
    grows = ": ".join(str(of[name]) for name in ("kind", "species") if of.get(name))
    task_ground = table("task").by("task")[values["task"]]["ground"]
    site = values["site"] or grows or task_ground.replace(";", ", ")
    return {"location": location, "site": site}


def _point_words(shape: shapely.Geometry) -> str:
    point = shapely.point_on_surface(shape)
    return f"latitude {point.y:.5f}, longitude {point.x:.5f}"


def rows_of_frame(frame: pd.DataFrame) -> list[Row]:
    """Return a frame's rows as dictionaries, None where there is nothing."""
    columns = [name for name in frame.columns if name != "geometry"]
    plain = frame[columns].astype(object)
    rows = plain.where(plain.notna(), None).to_dict("records")
    return [{str(name): value for name, value in row.items()} for row in rows]
