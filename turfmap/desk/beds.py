"""Beds: how large, how much covers them, which plants are pruned when, what the week brings."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from turfmap.days.bed_cover import Cover, bales, loose
from turfmap.desk.area import area
from turfmap.desk.bed_plants import BED, bed_of, judged_beds, plant_told
from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.own_rows import own_rows, own_table
from turfmap.desk.place import LON_LAT, with_property
from turfmap.desk.protected import Overrides
from turfmap.foundations import plane
from turfmap.foundations.definitions import Row, table
from turfmap.foundations.errors import input_fault
from turfmap.foundations.units import METRES_PER_FOOT, square_feet
from turfmap.store import geopackage

WEEK_D = 7
TENDER_BEDS = frozenset({"tender_perennials"})


@dataclass(frozen=True)
class Covering:
    """What beds are to be covered with.

    Attributes
    ----------
    material
        Of the table bed_material.
    depth_in, there_in
        The depth wanted, None: the least that is usual; and what lies there already [in].
    bale_covers_sqft
        Ground that a bale covers; None: as the table says.
    bag_cu_ft
        What a bag holds; None: by the cubic yard.
    """

    material: str
    depth_in: float | None = None
    there_in: float = 0.0
    bale_covers_sqft: float | None = None
    bag_cu_ft: float | None = None


def beds(
    path: Path, *, as_of: date, covering: Covering | None = None, property_name: str | None = None
) -> dict[str, Any]:
    """Return every bed with its size, its cover, its plants and the work of a week.

    Parameters
    ----------
    path
        The place.
    as_of
        The first day of the week.
    covering
        What to cover beds with; None: nothing.
    property_name
        Only this property.

    Returns
    -------
    dict
        ``as_of, until``; ``beds`` (property, zone, bed_type, area, edging, cover, plants, week);
        ``totals`` of area, edging and cover; ``tender``: plants and beds that frost kills the tops
        of; ``cautions``.

    Raises
    ------
    InputFaultsError
        If the material is not in the table, or the place needs mending.
    """
    until = as_of + timedelta(days=WEEK_D - 1)
    material = None if covering is None else _material(path, covering)
    ground = _ground(path, property_name)
    plants = own_rows(path).get("bed_plant", [])
    tasks, of_plants = judged_beds(path, as_of, property_name, plants)
    found = []
    for key, bed in ground.items():
        cover = _cover(bed["area_m2"], covering, material) if _is_covered(bed) else None
        mine = [plant_told(row, of_plants, as_of=as_of) for row in plants if bed_of(row) == key]
        week = [one for one in tasks.get(key, []) if _meets(one, as_of, until)]
        found.append({**bed, "cover": cover, "plants": mine, "week": week})
    strangers = [row for row in plants if bed_of(row) not in ground and property_name is None]
    return {
        "as_of": as_of.isoformat(),
        "until": until.isoformat(),
        "material": material and material["words"],
        "beds": found,
        "totals": _totals(found, covering, material),
        "tender": _tender(found),
        "cautions": _cautions(material, strangers),
    }


def _material(path: Path, covering: Covering) -> Row:
    rows = own_table(path, "bed_material").by("material")
    if covering.material not in rows:
        mend = f"choose one of {', '.join(rows)}"
        problem = f"there is no material {covering.material!r}"
        raise input_fault(problem, mend, record="--material")
    return rows[covering.material]


def _ground(path: Path, property_name: str | None) -> dict[tuple[str, str], dict[str, Any]]:
    """Return size and edge of each bed, by property and zone."""
    measured = area(path, property_name=property_name, product=None, overrides=Overrides({}))
    frame = with_property(
        geopackage.read_layer(path, "zone").to_crs(LON_LAT),
        geopackage.read_layer(path, "property").to_crs(LON_LAT),
    )
    shapes = shapes_of(frame)
    flat = plane.flatten(shapes, np.nan_to_num(plane.origins(plane.bounds(shapes))))
    edges = shapely.length(flat)
    columns = (frame[name] for name in ("id", "bed_type"))
    known = {
        identity: (bed_type if isinstance(bed_type, str) else None, float(edge_m))
        for identity, bed_type, edge_m in zip(*columns, edges, strict=True)
    }
    found = {}
    for zone in measured["zones"]:
        if zone["kind"] != BED:
            continue
        bed_type, edge_m = known[zone["id"]]
        bed_m2 = zone["gross_m2"] - zone["obstacle_m2"]
        found[bed_of(zone)] = {
            "property": zone["property"],
            "zone": zone["zone"],
            "bed_type": bed_type,
            "area_m2": bed_m2,
            "area_sqft": square_feet(bed_m2),
            "edging_m": edge_m,
            "edging_ft": edge_m / METRES_PER_FOOT,
        }
    return found


def _is_covered(bed: Mapping[str, Any]) -> bool:
    """Return whether straw or mulch is for such a bed; where nobody said what grows, it is."""
    kinds = str(table("task").by("task")["bed_mulch"]["bed_types"]).split(";")
    return bed["bed_type"] is None or bed["bed_type"] in kinds


def _cover(
    area_m2: float, covering: Covering | None, material: Row | None
) -> dict[str, Any] | None:
    if covering is None or material is None:
        return None
    if material["measured_by"] == "bale":
        covers = covering.bale_covers_sqft or material["covers_sqft"]
        return _plain(bales(area_m2, covers_sqft=covers)) | {"bale_covers_sqft": covers}
    depth_in = covering.depth_in if covering.depth_in is not None else material["depth_low_in"]
    found = loose(
        area_m2, depth_in=depth_in, there_in=covering.there_in, bag_cu_ft=covering.bag_cu_ft
    )
    return _plain(found) | {"depth_in": depth_in, "there_in": covering.there_in}


def _plain(cover: Cover) -> dict[str, Any]:
    return {"cubic_yards": cover.cubic_yards, "to_buy": cover.to_buy, "unit": cover.unit}


def _meets(task: Row, first: date, last: date) -> bool:
    """Return whether a task's window meets a week and it is not done or missed."""
    opens, closes = task["opens"], task["closes"] or last.isoformat()
    if opens is None or task["state"] in {"done", "missed"}:
        return False
    return bool(opens <= last.isoformat() and closes >= first.isoformat())


def _totals(
    found: Sequence[Mapping[str, Any]], covering: Covering | None, material: Row | None
) -> dict[str, Any]:
    """Return the sums; what is bought for all of them is rounded up once."""
    covered_m2 = float(sum(bed["area_m2"] for bed in found if _is_covered(bed)))
    return {
        "area_sqft": float(sum(bed["area_sqft"] for bed in found)),
        "edging_ft": float(sum(bed["edging_ft"] for bed in found)),
        "cover": _cover(covered_m2, covering, material),
    }


def _tender(found: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return what frost kills the tops of: beds of such plants, and single plants in others."""
    beds_of_them = [
        {"property": bed["property"], "zone": bed["zone"], "plant": None}
        for bed in found
        if bed["bed_type"] in TENDER_BEDS
    ]
    return beds_of_them + [
        {"property": bed["property"], "zone": bed["zone"], "plant": plant["words"]}
        for bed in found
        for plant in bed["plants"]
        if plant["tender"]
    ]


def _cautions(material: Row | None, strangers: Sequence[Row]) -> list[str]:
    said = []
    if material is not None:
        said.append("What is bought is rounded up: for each bed by itself, for all of them once.")
        said.append(f"{material['words'].capitalize()}: {material['plain']}")
    if strangers:
        names = ", ".join(dict.fromkeys(f"{of} / {zone}" for of, zone in map(bed_of, strangers)))
        said.append(f"Plants are listed for beds that are not on the map: {names[:200]}.")
    return said
