"""The ground of the stops of a plan: zones, and no-spray ground and things near them."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any, TypeVar

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.map import METRES_PER_DEGREE, NEAR_M, no_spray_of, things_of
from turfmap.desk.place import read_place
from turfmap.desk.protected import Overrides
from turfmap.views.day_map import DayGround
from turfmap.views.map_page import MapNoSpray, MapThing
from turfmap.views.odd_page import PlainZone

Drawn = TypeVar("Drawn", MapNoSpray, MapThing)


def ground_of(path: Path, plan: dict[str, Any]) -> DayGround:
    """Return what is drawn under the stops of a plan.

    No-spray ground is drawn for every product of the plan and for none, the widest of each
    feature: a truck may carry another product to the same street.

    Raises
    ------
    InputFaultsError
        If something in the place needs mending.
    """
    served = {stop["property"] for stop in plan["stops"] if stop["day"]}
    place = read_place(path, property_name=None, product=None, overrides=Overrides({}))
    zones = [
        PlainZone(str(of), str(name), shape)
        for of, name, shape in zip(
            place.zones["property"], place.zones["name"], shapes_of(place.zones), strict=True
        )
        if shape is not None and of in served
    ]
    boxes = _boxes(zones)
    no_spray = _near(_widest(path, plan), boxes)
    things = _near(things_of(path, None), boxes)
    return DayGround(zones, no_spray, [one for one in things if _is_ours(one, served)])


def _is_ours(thing: MapThing, served: set[str]) -> bool:
    return thing.layer != "property" or thing.name in served


def _widest(path: Path, plan: dict[str, Any]) -> list[MapNoSpray]:
    products = {stop["product"] for stop in plan["stops"] if stop["day"] and stop["product"]}
    found: dict[tuple[str, str, bytes], MapNoSpray] = {}
    for product in (None, *sorted(products)):
        place = read_place(path, property_name=None, product=product, overrides=Overrides({}))
        for one in no_spray_of(place):
            middle = shapely.to_wkb(shapely.set_precision(one.geometry.centroid, 1e-6))
            key = (one.category_words, one.name, middle)
            before = found.get(key)
            if before is None or one.geometry.area > before.geometry.area:
                found[key] = one
    return list(found.values())


def _boxes(zones: Sequence[PlainZone]) -> shapely.STRtree:
    """Return the boxes of zones with what is near them."""
    if not zones:
        return shapely.STRtree([])
    west, south, east, north = shapely.bounds([zone.geometry for zone in zones]).T
    up = NEAR_M / METRES_PER_DEGREE
    along = up / np.cos(np.radians(south))
    return shapely.STRtree(shapely.box(west - along, south - up, east + along, north + up))


def _near(drawn: Sequence[Drawn], boxes: shapely.STRtree) -> list[Drawn]:
    shapes: list[BaseGeometry] = [one.geometry for one in drawn]
    if not shapes:
        return []
    touched = set(boxes.query(shapes, predicate="intersects")[0].tolist())
    return [one for number, one in enumerate(drawn) if number in touched]
