"""I am here: may not, unsure, or outside no-spray ground; the same answer as on the crew page."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil, floor, isfinite
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from turfmap.desk.place import BEYOND_REACH_M, LON_LAT, Place, rank_of, read_place, shapes_of
from turfmap.desk.place_in_wind import in_wind
from turfmap.desk.protected import Overrides
from turfmap.foundations.definitions import table
from turfmap.foundations.errors import InputFaultsError, input_fault
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes, shape_array
from turfmap.foundations.units import METRES_PER_FOOT, distance_words
from turfmap.ground.downwind import Wind
from turfmap.ground.here import (
    COARSE_M,
    OUTSIDE,
    STOP,
    UNSURE,
    Edges,
    LocalPlane,
    Standing,
    edges_of,
    standing,
)
from turfmap.ground.nospray import no_spray_ground
from turfmap.store import geopackage
from turfmap.store.foreign.reading import read_foreign

WORDS = {
    STOP: "STOP: inside no-spray",
    UNSURE: "UNSURE: edge within position error",
    OUTSIDE: "Outside no-spray",
}
NOT_SURVEYED = "UNSURE: not surveyed, what is near is unknown"
NOWHERE = "UNSURE: no property of this place is here, so nothing is known"
FAR = "UNSURE: too far from this property, what is near is unknown"
NOT_KNOWN = "UNSURE: nobody said how well the position is known"
DIRECTIONS = (
    "north",
    "north-east",
    "east",
    "south-east",
    "south",
    "south-west",
    "west",
    "north-west",
)
MOST_POSITIONS = 100_000


@dataclass(frozen=True)
class Position:
    """Where somebody stands.

    Attributes
    ----------
    longitude, latitude
        WGS 84 [deg].
    accuracy_m
        How well that is known [m]; 0 for a place pointed at on a map, None where nobody knows.
    """

    longitude: float
    latitude: float
    accuracy_m: float | None = None


@dataclass(frozen=True)
class HereInputs:
    """What positions on one property are measured against.

    Attributes
    ----------
    origin
        Longitude and latitude of the plane [deg].
    box
        West, south, east and north of the property and its zones [deg].
    features
        Protected features: ``category, name, distance_m, margin_m, is_downwind``, and the rings
        of their no-spray ground [deg].
    together
        The rings of all no-spray ground as one [deg].
    zones
        ``name`` and rings [deg]; the first that holds a position owns it.
    is_surveyed
        Whether somebody has looked for what is protected here.
    """

    origin: tuple[float, float]
    box: tuple[float, float, float, float]
    features: list[dict[str, Any]]
    together: list[list[list[float]]]
    zones: list[dict[str, Any]]
    is_surveyed: bool
    cautions: list[str]


def here_inputs(
    path: Path,
    *,
    property_name: str,
    product: str | None,
    overrides: Overrides,
    wind: Wind | None = None,
) -> HereInputs:
    """Return what positions on a property are measured against, for the crew page or for `here`.

    Raises
    ------
    InputFaultsError
        If something is not there.
    """
    place = read_place(path, property_name=property_name, product=product, overrides=overrides)
    place = in_wind(place, wind)
    things = place.protected_things()
    ground = no_spray_ground(things.shapes, things.radius_m)
    frame = place.protected.assign(
        is_downwind=place.protected.get("is_downwind", pd.Series(False, place.protected.index))
    )
    columns = ["category", "name", "distance_m", "margin_m", "is_downwind"]
    features = [
        row | {"rings": _rings(shape)}
        for row, shape in zip(frame[columns].to_dict("records"), ground, strict=True)
    ]
    order = np.lexsort((np.arange(len(place.zones)), rank_of(place.zones)))
    zones = [
        {"name": str(place.zones["name"].iloc[at]), "rings": _rings(shapes_of(place.zones)[at])}
        for at in order
    ]
    box = _box(place)
    surveyed = place.properties["water_surveyed_on"].notna()
    return HereInputs(
        ((box[0] + box[2]) / 2.0, (box[1] + box[3]) / 2.0),
        box,
        features,
        _rings(shapely.union_all(ground)),
        zones,
        bool(len(surveyed)) and bool(surveyed.all()),
        place.cautions,
    )


def _box(place: Place) -> tuple[float, float, float, float]:
    boxes = np.concatenate([place.zones.bounds, place.properties.bounds])
    boxes = boxes[~np.isnan(boxes[:, 0])]
    if not len(boxes):
        raise input_fault("the property has no shape and no zone", "draw it first")
    west, south = boxes[:, :2].min(axis=0)
    east, north = boxes[:, 2:].max(axis=0)
    return float(west), float(south), float(east), float(north)


def _rings(shape: Any) -> list[list[list[float]]]:
    if shape is None:
        return []
    rings = shapely.get_rings(shapely.get_parts(shape))
    return [shapely.get_coordinates(ring).tolist() for ring in rings]


def read_track(path: Path) -> list[tuple[float, float]]:
    """Return the positions of a track file, in their order.

    Raises
    ------
    InputFaultsError
        If it cannot be read, holds no position, or too many.
    """
    found = read_foreign(path)
    faults = [fault for each in found.faults for fault in each]
    if faults:
        raise InputFaultsError(faults)
    lonlat = shapely.get_coordinates(found.geometries)
    if not 0 < len(lonlat) <= MOST_POSITIONS:
        raise input_fault(
            f"it holds {len(lonlat):,} positions",
            f"give a track of 1 to {MOST_POSITIONS:,} positions",
            file=str(path),
        )
    return [(float(x), float(y)) for x, y in lonlat]


def here(
    path: Path,
    positions: Sequence[Position],
    *,
    product: str | None,
    overrides: Overrides,
    property_name: str | None = None,
    wind: Wind | None = None,
) -> dict[str, Any]:
    """Tell how positions stand to no-spray ground.

    Parameters
    ----------
    path
        The turfmap file.
    positions
        Where somebody stands, in any order.
    product
        What would be applied; its setbacks count.
    property_name
        The property; None: the one that holds each position.
    wind
        For distances that hold downwind only; None: all round.

    Returns
    -------
    dict
        ``positions``, each with ``state`` (stop, unsure, outside), ``words``, ``distance_ft``,
        ``distance_m`` (rounded towards the edge), ``distance_words``, ``direction``,
        ``category, name, reason, zone, property``; ``cautions``.

    Raises
    ------
    InputFaultsError
        If something is not there.
    """
    owners = (
        [property_name] * len(positions) if property_name is not None else _owners(path, positions)
    )
    told: list[dict[str, Any]] = [_nowhere(position) for position in positions]
    cautions: list[str] = []
    for owner in dict.fromkeys(name for name in owners if name is not None):
        mine = [at for at, name in enumerate(owners) if name == owner]
        inputs = here_inputs(
            path, property_name=owner, product=product, overrides=overrides, wind=wind
        )
        found = stand([positions[at] for at in mine], inputs)
        for at, one in zip(mine, found, strict=True):
            told[at] = one | {"property": owner}
        cautions += inputs.cautions
    return {"positions": told, "cautions": list(dict.fromkeys(cautions))}


def _owners(path: Path, positions: Sequence[Position]) -> list[str | None]:
    """Return the property that holds each position."""
    frame = geopackage.read_layer(path, "property")
    if frame.crs is not None and frame.crs != LON_LAT:
        frame = frame.to_crs(LON_LAT)
    points = shape_array([shapely.Point(one.longitude, one.latitude) for one in positions])
    owners: list[str | None] = [None] * len(positions)
    for at, row in zip(*_holding(points, frame), strict=True):
        owners[at] = owners[at] or str(frame["name"].iloc[row])
    return owners


def _holding(points: Shapes, frame: gpd.GeoDataFrame) -> tuple[list[int], list[int]]:
    at, rows = shapely.STRtree(shapes_of(frame)).query(points, predicate="intersects")
    return at.tolist(), rows.tolist()


def stand(positions: Sequence[Position], inputs: HereInputs) -> list[dict[str, Any]]:
    """Tell how positions stand to the no-spray ground of one property, in words."""
    plane = LocalPlane(*inputs.origin)
    lonlat = np.array([[one.longitude, one.latitude] for one in positions])
    xy = plane.flat(lonlat)
    accuracy_m = np.array(
        [np.nan if one.accuracy_m is None else one.accuracy_m for one in positions]
    )
    found = standing(
        xy,
        [_edges(one["rings"], plane) for one in inputs.features],
        _edges(inputs.together, plane),
        margin_m=np.array([one["margin_m"] for one in inputs.features], dtype=float),
        accuracy_m=accuracy_m,
        is_surveyed=inputs.is_surveyed,
    )
    zones = _zone_of(xy, inputs, plane)
    far = _beyond(xy, inputs, plane)
    return [
        _told(position, found, at, inputs, zones[at], is_far=bool(far[at]))
        for at, position in enumerate(positions)
    ]


def _edges(rings: Iterable[list[list[float]]], plane: LocalPlane) -> Edges:
    parts = [shapely.Polygon(ring) for ring in rings]
    return edges_of(shapely.MultiPolygon(parts), plane)


def _zone_of(xy: Floats, inputs: HereInputs, plane: LocalPlane) -> list[str | None]:
    found: list[str | None] = [None] * len(xy)
    for zone in inputs.zones:
        for at in np.flatnonzero(_edges(zone["rings"], plane).hold(xy)):
            found[at] = found[at] if found[at] is not None else zone["name"]
    return found


def _beyond(xy: Floats, inputs: HereInputs, plane: LocalPlane) -> Any:
    """Tell which positions lie farther from the property than its surroundings are known."""
    west, south, east, north = inputs.box
    low, high = plane.flat(np.array([[west, south], [east, north]]))
    apart = np.maximum(np.maximum(low - xy, xy - high), 0.0)
    return np.hypot(*apart.T) > BEYOND_REACH_M


def _plain(position: Position) -> dict[str, Any]:
    return {
        "longitude": position.longitude,
        "latitude": position.latitude,
        "accuracy_m": position.accuracy_m,
    }


_NOTHING: dict[str, Any] = {
    "state": UNSURE,
    "words": NOWHERE,
    "distance_ft": None,
    "distance_m": None,
    "distance_words": "",
    "is_inside": None,
    "direction": None,
    "category": None,
    "name": None,
    "setback_m": None,
    "margin_m": None,
    "reason": "",
    "zone": None,
    "property": None,
}


def _nowhere(position: Position) -> dict[str, Any]:
    return _plain(position) | _NOTHING


def _told(
    position: Position,
    found: Standing,
    at: int,
    inputs: HereInputs,
    zone: str | None,
    *,
    is_far: bool,
) -> dict[str, Any]:
    """Return one position's answer in words."""
    accuracy_m = position.accuracy_m
    if accuracy_m is not None and accuracy_m > COARSE_M:
        words = f"UNSURE: position known to {ceil(accuracy_m):,} m only"
        return _nowhere(position) | {"words": words}
    if is_far:
        return _nowhere(position) | {"words": FAR}
    state = str(found.state[at])
    answer = _nowhere(position) | {
        "state": state,
        "words": _words(state, inputs, accuracy_m),
        "zone": zone,
        "is_inside": bool(found.is_inside[at]),
    }
    return answer | _distance(found, at) | _cause(found, at, inputs)


def _words(state: str, inputs: HereInputs, accuracy_m: float | None) -> str:
    if state == UNSURE and accuracy_m is None:
        return NOT_KNOWN
    if state == UNSURE and not inputs.is_surveyed:
        return NOT_SURVEYED
    return WORDS[state]


def _distance(found: Standing, at: int) -> dict[str, Any]:
    """Return the distance rounded towards the edge, and which way the edge lies."""
    distance_m = float(found.distance_m[at])
    if not isfinite(distance_m):
        return {"distance_words": "no no-spray ground is drawn near here"}
    is_inside = bool(found.is_inside[at])
    rounded = ceil if is_inside else floor
    distance_ft = rounded(distance_m / METRES_PER_FOOT)
    tenths_m = rounded(distance_m * 10.0) / 10.0
    direction = DIRECTIONS[floor((float(found.towards_deg[at]) + 22.5) / 45.0) % 8]
    both = f"{distance_ft:,} ft ({tenths_m:,.1f} m)"
    words = (
        f"{both} inside; the way out is {direction}"
        if is_inside
        else f"{both} to the no-spray edge, {direction} of here"
    )
    return {
        "distance_ft": distance_ft,
        "distance_m": tenths_m,
        "distance_words": words,
        "direction": direction,
    }


def _cause(found: Standing, at: int, inputs: HereInputs) -> dict[str, Any]:
    number = int(found.feature[at])
    if number < 0:
        return {}
    feature = inputs.features[number]
    kinds = {
        row["kind"]: row["words"]
        for name in ("water_kind", "sensitive_kind")
        for row in table(name).rows
    }
    kind = kinds.get(feature["category"], str(feature["category"]))
    downwind = ", downwind" if feature["is_downwind"] else ""
    margin_m = float(feature["margin_m"])
    margin = f" and {distance_words(margin_m)} position margin" if margin_m > 0.0 else ""
    setback = distance_words(feature["distance_m"])
    return {
        "category": feature["category"],
        "name": feature["name"],
        "setback_m": float(feature["distance_m"]),
        "margin_m": margin_m,
        "reason": f"{kind}: {feature['name']}, {setback} setback{downwind}{margin}",
    }
