"""I am here: may not, unsure, or outside no-spray ground; the same answer as on the crew page."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.place import BEYOND_REACH_M, LON_LAT, Place, rank_of, read_place
from turfmap.desk.place_in_wind import in_wind
from turfmap.desk.protected import Overrides
from turfmap.foundations.errors import InputFaultsError, input_fault
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes, shape_array
from turfmap.foundations.units import distance_words
from turfmap.ground.downwind import Wind
from turfmap.ground.here import Edges, LocalPlane, edges_of, standing
from turfmap.ground.nospray import no_spray_ground
from turfmap.store import geopackage
from turfmap.store.foreign.reading import read_foreign
from turfmap.views.here_words import NOTHING, told

MOST_POSITIONS = 100_000
# Longer steps between two positions of a track may cross no-spray ground unseen [m].
LONGEST_STEP_M = 5.0


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
        ``name``, ``rank`` and rings [deg]; the first that holds a position owns it.
    grounds
        The rings of the property and of each zone [deg]; outside them nothing is known for sure.
    is_surveyed
        Whether somebody has looked for what is protected here.
    """

    origin: tuple[float, float]
    box: tuple[float, float, float, float]
    features: list[dict[str, Any]]
    together: list[list[list[float]]]
    zones: list[dict[str, Any]]
    grounds: list[list[list[list[float]]]]
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
        {
            "name": str(place.zones["name"].iloc[at]),
            "rank": float(rank_of(place.zones)[at]),
            "rings": _rings(shapes_of(place.zones)[at]),
        }
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
        [_rings(shape) for shape in (*shapes_of(place.properties), *shapes_of(place.zones))],
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


def gaps(track: Sequence[tuple[float, float]]) -> list[str]:
    """Say what a track leaves out: ground between two positions is not looked at.

    Parameters
    ----------
    track
        Longitude and latitude [deg], in order.
    """
    lonlat = np.array(track, dtype=float).reshape(-1, 2)
    if len(lonlat) < 2:
        return []
    steps_m = np.hypot(*np.diff(LocalPlane(*lonlat[0]).flat(lonlat), axis=0).T)
    wide = steps_m > LONGEST_STEP_M
    if not wide.any():
        return []
    return [
        f"The track leaves ground out: {wide.sum():,} of its steps are over"
        f" {distance_words(LONGEST_STEP_M)}, the longest {distance_words(float(steps_m.max()))}."
        " What was crossed there is not told."
    ]


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
        ``category, name, reason, zone, zones_too`` (drawn over the same ground), ``property``;
        ``cautions``.

    Raises
    ------
    InputFaultsError
        If something is not there.
    """
    owners = (
        [property_name] * len(positions) if property_name is not None else _owners(path, positions)
    )
    answers: list[dict[str, Any]] = [_plain(position) | NOTHING for position in positions]
    cautions: list[str] = []
    for owner in dict.fromkeys(name for name in owners if name is not None):
        mine = [at for at, name in enumerate(owners) if name == owner]
        inputs = here_inputs(
            path, property_name=owner, product=product, overrides=overrides, wind=wind
        )
        found = stand([positions[at] for at in mine], inputs)
        for at, one in zip(mine, found, strict=True):
            answers[at] = one | {"property": owner}
        cautions += inputs.cautions
    return {"positions": answers, "cautions": list(dict.fromkeys(cautions))}


def _owners(path: Path, positions: Sequence[Position]) -> list[str | None]:
    """Return the property that holds each position."""
    frame = geopackage.read_layer(path, "property")
    if frame.crs is not None and frame.crs != LON_LAT:
        frame = frame.to_crs(LON_LAT)
    points = shape_array([shapely.Point(one.longitude, one.latitude) for one in positions])
    owners: list[str | None] = [None] * len(positions)
    for at, row in sorted(zip(*_holding(points, frame), strict=True)):
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
    accuracies_m = [_believed(one.accuracy_m) for one in positions]
    accuracy_m = np.array([np.nan if one is None else one for one in accuracies_m])
    found = standing(
        xy,
        [_edges(one["rings"], plane) for one in inputs.features],
        _edges(inputs.together, plane),
        margin_m=np.array([one["margin_m"] for one in inputs.features], dtype=float),
        accuracy_m=accuracy_m,
        is_surveyed=inputs.is_surveyed,
    )
    zones, far = _zones_at(xy, inputs, plane), _beyond(xy, inputs, plane)
    known = [_edges(rings, plane).hold(xy) for rings in inputs.grounds]
    off = ~np.logical_or.reduce([np.zeros(len(xy), dtype=np.bool_), *known])
    answers = []
    for at, position in enumerate(positions):
        answer = told(
            found,
            at,
            accuracy_m=accuracies_m[at],
            features=inputs.features,
            is_surveyed=inputs.is_surveyed,
            is_far=bool(far[at]),
            is_off=bool(off[at]),
        )
        # What is too far off or known too poorly has no zone either.
        zone, *others = (None,) if answer["is_inside"] is None else zones[at] or (None,)
        answers.append(_plain(position) | answer | {"zone": zone, "zones_too": others})
    return answers


def _believed(accuracy_m: float | None) -> float | None:
    """Return an accuracy [m], or None for a figure that is none, such as one below nothing."""
    return accuracy_m if accuracy_m is not None and 0.0 <= accuracy_m < np.inf else None


def _edges(rings: Iterable[list[list[float]]], plane: LocalPlane) -> Edges:
    parts = [shapely.Polygon(ring) for ring in rings]
    return edges_of(shapely.MultiPolygon(parts), plane)


def _zones_at(xy: Floats, inputs: HereInputs, plane: LocalPlane) -> list[list[str]]:
    """Return the zone that owns each position, and others of its rank drawn over it."""
    found: list[list[dict[str, Any]]] = [[] for _ in xy]
    for zone in inputs.zones:
        for at in np.flatnonzero(_edges(zone["rings"], plane).hold(xy)):
            if not found[at] or found[at][0]["rank"] == zone["rank"]:
                found[at].append(zone)
    return [[zone["name"] for zone in zones] for zones in found]


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
