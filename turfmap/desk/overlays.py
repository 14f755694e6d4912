"""Small pictures of what was measured on the ground: made, kept in the place, and read again."""

import base64
import binascii
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.place import NO_PROPERTY
from turfmap.foundations import plane
from turfmap.foundations.definitions import Row
from turfmap.foundations.grid import Grid
from turfmap.foundations.shapes import is_area
from turfmap.ground.map_pixels import (
    Values,
    cells_of,
    coarser,
    cut_to,
    laid_on,
    lies_within,
    map_pixels,
)
from turfmap.store import geopackage
from turfmap.views.grey_picture import grey_picture, is_grey_picture
from turfmap.views.map_overlays import MapOverlay

LAYER = "overlay"
# A grey byte a pixel: a picture is never larger than this many bytes, however rough the ground.
MOST_PIXELS = 150_000
# Greys that a value can have; 0 is other ground, the last is ground of which nothing is known.
GREYS = 253
OTHER_GROUND, NOT_KNOWN = 0, 255
# What a step of grey is worth: half a per cent of slope, six minutes of sun, a 253rd of the light.
STEPS = {"slope": 0.5, "sun": 0.1, "hillshade": 1.0 / GREYS}
# Wider ground is no property: two that share a name, or one across the antimeridian.
WIDEST_DEG = 0.5
# More of them make a map too heavy for a phone [bytes].
MOST_BYTES_ON_A_MAP = 4_000_000


@dataclass(frozen=True)
class Taken:
    """Where measurements come from.

    Attributes
    ----------
    raster
        The raster's name, or the names of several.
    taken
        The day of its heights, None if nobody knows.
    resolution_m
        Side of the cells that were measured [m].
    method
        How, in words.
    """

    raster: str
    taken: date | None
    resolution_m: float
    method: str


def overlay_of(
    measure: str, values: Values, grid: Grid, *, name: str, ground: shapely.Geometry, taken: Taken
) -> MapOverlay | None:
    """Return the picture of what was measured on a property; None if nothing of it is known.

    Parameters
    ----------
    measure
        One of `STEPS`.
    values
        One a cell [per cent, hours a day, or share of full light]; NaN where unknown.
    grid
        Where the cells lie.
    name, ground
        The property, and the ground that is shown, in EPSG:4326.
    """
    if shapely.is_empty(ground):
        return None
    origin = np.array([[grid.lon, grid.lat]])
    (flat,) = plane.flatten(np.array([ground], dtype=object), origin)
    values, grid = cut_to(values, grid, shapely.bounds(flat))
    if not values.size:
        return None
    values, grid = coarser(values, grid, cells=cells_of(MOST_PIXELS, grid))
    bounds = np.array(shapely.bounds(ground))
    pixel_m = grid.cell_m
    while (pixels := map_pixels(bounds, pixel_m=pixel_m)).rows * pixels.columns > MOST_PIXELS:
        pixel_m *= 1.05
    shown = laid_on(pixels, values, grid)
    within, step = lies_within(pixels, ground), STEPS[measure]
    known = np.isfinite(shown)
    if not known[within].any():
        return None
    greys = np.where(known, 1.0 + np.clip(np.rint(shown / step), 0, GREYS), NOT_KNOWN)
    greys[~within] = OTHER_GROUND
    return MapOverlay(
        property=name,
        measure=measure,
        picture=grey_picture(greys.astype(np.uint8)),
        bounds=pixels.bounds,
        step=step,
        raster=taken.raster,
        taken=taken.taken,
        resolution_m=taken.resolution_m,
        pixel_m=pixel_m,
        method=taken.method,
    )


def grounds_of(zones: gpd.GeoDataFrame, properties: gpd.GeoDataFrame) -> dict[str, Any]:
    """Return the ground of each property that has zones: its outline and its zones, in EPSG:4326.

    Zones of no property are left out: they may lie anywhere.

    Parameters
    ----------
    zones, properties
        Frames in EPSG:4326 with ``property`` and ``name``; broken shapes have been mended.
    """
    names = pd.concat([zones["property"], properties["name"]]).to_numpy(object)
    shapes = np.concatenate([shapes_of(zones), shapes_of(properties)])
    there = is_area(shapes) & np.isin(names, list({*zones["property"]} - {NO_PROPERTY}))
    grounds = {
        name: shapely.union_all(shapes[there & (names == name)]) for name in pd.unique(names[there])
    }
    return {
        name: ground
        for name, ground in grounds.items()
        if np.ptp(shapely.bounds(ground).reshape(2, 2), axis=0).max() < WIDEST_DEG
    }


def overlay_row(one: MapOverlay) -> Row:
    """Return the row of the layer ``overlay`` that keeps a picture."""
    return {
        "property": one.property,
        "measure": one.measure,
        "image": base64.b64encode(one.picture).decode("ascii"),
        "step": one.step,
        "raster": one.raster,
        "raster_date": None if one.taken is None else one.taken.isoformat(),
        "resolution_m": one.resolution_m,
        "pixel_m": one.pixel_m,
        "method": one.method,
    }


def kept_overlays(path: Path, properties: Iterable[str]) -> tuple[list[MapOverlay], list[str]]:
    """Read the pictures that a place keeps of some properties, and say which are of no use.

    Raises
    ------
    InputFaultsError
        If the file cannot be read.
    """
    frame = geopackage.read_layer(path, LAYER)
    frame = frame[frame["property"].isin(set(properties))]
    read = [_read(row) for row in frame.to_dict("records")]
    bad = len(read) - len(good := [one for one in read if one is not None])
    if not bad:
        return good, []
    return good, [
        f"{bad} of the kept overlays are not as turfmap wrote them and are left out: measure again"
        " with --keep."
    ]


def _read(row: dict[str, Any]) -> MapOverlay | None:
    """Return a kept picture, None unless it is as turfmap writes it."""
    try:
        picture = base64.b64decode(str(row["image"]), validate=True)
        taken = date.fromisoformat(row["raster_date"]) if row["raster_date"] else None
        west, south, east, north = shapely.bounds(row["geometry"])
    except (binascii.Error, TypeError, ValueError):
        return None
    numbers = [west, south, east, north, row["step"], row["resolution_m"], row["pixel_m"]]
    is_sound = bool(np.isfinite(numbers).all()) and west < east and -85.0 < south < north < 85.0
    is_sound &= row["step"] > 0.0
    if not is_sound or row["measure"] not in STEPS or not is_grey_picture(picture):
        return None
    return MapOverlay(
        property=str(row["property"]),
        measure=str(row["measure"]),
        picture=picture,
        bounds=(float(west), float(south), float(east), float(north)),
        step=float(row["step"]),
        raster=str(row["raster"] or ""),
        taken=taken,
        resolution_m=float(row["resolution_m"]),
        pixel_m=float(row["pixel_m"]),
        method=str(row["method"] or ""),
    )


def fitting(overlays: Sequence[MapOverlay]) -> tuple[list[MapOverlay], list[str]]:
    """Return the pictures if a map can carry them, else none of them and what to do."""
    size = sum(len(one.picture) for one in overlays)
    if size <= MOST_BYTES_ON_A_MAP:
        return list(overlays), []
    return [], [
        f"The overlays of slope and sun would add {size / 1e6:.0f} MB to this map and are left"
        " out: make the map of one property (--property) to see them."
    ]
