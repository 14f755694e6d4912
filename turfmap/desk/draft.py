"""Drafts of zones from a picture from the air, for somebody to accept one by one.

Drafts are never in the place: a zone there is ground that may be treated. They are a GeoJSON of
their own, whose rows no import takes for zones (they have a draft's kind, and none of a zone), and
one becomes a zone only when it is accepted by its number.
"""

import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import shapely

from turfmap.desk.bring_in import bring_in
from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.import_batch import Source
from turfmap.desk.place import LON_LAT
from turfmap.desk.protected import few
from turfmap.foundations import plane
from turfmap.foundations.errors import input_fault
from turfmap.foundations.grid import Grid, grid_over
from turfmap.foundations.shapes import Shapes, area_parts, is_present, repaired, shape_array
from turfmap.foundations.units import SQUARE_METRES_PER_SQUARE_FOOT, square_feet
from turfmap.ground.area import plan_areas
from turfmap.ground.coverage import coverage
from turfmap.ground.vegetation import HARD, TREE, TURF, Classes, Seen, seen
from turfmap.store import geopackage
from turfmap.store.foreign.reading import read_foreign
from turfmap.store.geojson import write_geojson
from turfmap.store.raster_shapes import outlines, without_specks
from turfmap.store.raster_windows import Raster

# Zones are not drawn finer than this, and a larger property is looked at on larger cells.
FINEST_CELL_M = 0.3
MOST_CELLS = 4_000_000
# Edges of cells are smoothed by so many cells.
SMOOTHED_BY_CELLS = 2.0
# What each class would be as a zone; crowns with grass under them are for the owner to tell.
KINDS = {TURF: "turf", TREE: "woods", HARD: "hard"}
WEAK_SEPARABILITY = 0.6


@dataclass(frozen=True)
class PictureAsked:
    """A picture and how to read it.

    Attributes
    ----------
    path
        The picture.
    bands
        Which of its bands are red, green and blue, and infrared if there is one, from 1.
    smallest_m2
        Smaller patches go to their largest neighbour [m2].
    taken
        When it was taken; None takes the day that the file itself names.
    """

    path: Path
    bands: tuple[int, ...] = (1, 2, 3)
    smallest_m2: float = 100.0 * SQUARE_METRES_PER_SQUARE_FOOT
    taken: date | None = None


def draft(
    path: Path, *, property_name: str | None, asked: PictureAsked, out: Path
) -> dict[str, Any]:
    """Draft zones of the ground of properties that no zone has yet.

    Returns
    -------
    dict
        ``drafts`` (number, property, kind, area, confidence), ``about`` and ``cautions``.

    Raises
    ------
    InputFaultsError
        If the picture cannot be used, or there is no ground to draft.
    """
    picture = Raster(asked.path, record="--picture")
    _see_bands(picture, asked)
    properties, zones = _ground(path, property_name)
    parts = [
        _drafted(name, outline, zones, picture, asked)
        for name, outline in zip(properties["name"], shapes_of(properties), strict=True)
    ]
    rows = [row for part in parts for row in part.rows]
    shapes = shape_array([shape for part in parts for shape in part.shapes])
    if not rows:
        raise input_fault(
            "no ground could be drafted from it",
            "see that it covers a property that is not all zones already",
            file=str(asked.path),
            record="--picture",
        )
    for number, row in enumerate(rows, start=1):
        row.update({"draft": number, "name": f"Draft {number} ({row['draft_kind']})"})
    write_geojson(out, shapes, rows)
    return {
        "drafts": rows,
        "out": str(out),
        "cautions": _cautions(parts, picture, asked),
    }


def accept(path: Path, *, drafts: Path, number: int, name: str) -> dict[str, Any]:
    """Make one draft a zone of the place.

    Parameters
    ----------
    path
        The place.
    drafts
        What `draft` wrote.
    number
        Which draft.
    name
        What the zone is to be called.

    Returns
    -------
    dict
        As of `turfmap.desk.bring_in.bring_in`.

    Raises
    ------
    InputFaultsError
        If there is no such draft, or it cannot be a zone; nothing has been written.
    """
    found = read_foreign(drafts)
    numbers = [str(row.get("draft", "")) for row in found.rows]
    if str(number) not in numbers:
        raise input_fault(
            f"there is no draft {number}",
            "choose one of the numbers that it holds",
            file=str(drafts),
            record="--accept",
        )
    at = numbers.index(str(number))
    row = found.rows[at]
    zone = {
        "name": name,
        "property": row["property"],
        "kind": row["draft_kind"],
        "notes": f"Accepted from draft {number}, picture {row['picture']}"
        f" ({row.get('taken') or 'day not known'}), confidence {float(row['confidence']):.2f}.",
    }
    with tempfile.TemporaryDirectory() as folder:
        one = Path(folder) / f"draft-{number}.geojson"
        write_geojson(one, shape_array(found.geometries)[at : at + 1], [zone])
        return bring_in(path, Source(one), layer_name="zone")


def _see_bands(picture: Raster, asked: PictureAsked) -> None:
    missing = [band for band in asked.bands if not 1 <= band <= picture.bands]
    if missing:
        raise input_fault(
            f"it has {picture.bands} bands, and none of number {missing[0]}",
            "say which are red, green, blue and, if there is one, infrared: --bands 1,2,3",
            file=str(asked.path),
            record="--bands",
        )


def _ground(path: Path, property_name: str | None) -> tuple[gpd.GeoDataFrame, Shapes]:
    properties = geopackage.read_layer(path, "property").to_crs(LON_LAT)
    mended, _ = repaired(shapes_of(properties))
    properties = properties.set_geometry(gpd.GeoSeries(mended, crs=LON_LAT))
    properties = properties[is_present(mended)]
    if property_name is not None:
        properties = properties[properties["name"] == property_name]
    if properties.empty:
        raise input_fault(
            "there is no such property with an outline",
            "draw or import the line of the property first: drafts stay inside it",
            file=str(path),
        )
    zones, _ = repaired(shapes_of(geopackage.read_layer(path, "zone").to_crs(LON_LAT)))
    return properties, zones[is_present(zones)]


@dataclass(frozen=True)
class _Part:
    """The drafts of one property."""

    name: str
    rows: list[dict[str, Any]]
    shapes: list[shapely.Geometry]
    found: Seen | None


def _drafted(
    name: str, outline: shapely.Geometry, zones: Shapes, picture: Raster, asked: PictureAsked
) -> _Part:
    (origin,) = plane.origins(shapely.bounds(shape_array([outline])))
    near = zones[shapely.intersects(zones, outline)]
    together = np.broadcast_to(origin, (near.size + 1, 2))
    flat = plane.flatten(np.concatenate([shape_array([outline]), near]), together)
    free = shapely.difference(flat[0], shapely.union_all(flat[1:]))
    if shapely.is_empty(free):
        return _Part(name, [], [], None)
    grid = _grid(shapely.bounds(free), origin, picture)
    found = seen(list(picture.read(grid, asked.bands, method="bilinear")), cell_m=grid.cell_m)
    if not found.classes.any():
        return _Part(name, [], [], None)
    shapes, kinds = _patches(found.classes, grid, free, asked.smallest_m2)
    rows = _rows(name, shapes, kinds, grid, found)
    about = {"picture": picture.name, "taken": _taken(picture, asked), "cell_m": grid.cell_m}
    back = plane.unflatten(shapes, np.broadcast_to(origin, (shapes.size, 2)))
    return _Part(name, [row | about for row in rows], list(back), found)


def _grid(bounds_m: Any, origin: Any, picture: Raster) -> Grid:
    finest_m = max(picture.cell_m(float(origin[0]), float(origin[1])), FINEST_CELL_M)
    sides_m = bounds_m[2:] - bounds_m[:2]
    cell_m = max(finest_m, float(np.sqrt(sides_m.prod() / MOST_CELLS)))
    return grid_over(bounds_m, cell_m=cell_m, origin=origin)


def _patches(
    classes: Classes, grid: Grid, free: shapely.Geometry, smallest_m2: float
) -> tuple[Shapes, Classes]:
    """Return smooth outlines of patches within free ground, without overlaps and gaps."""
    fewest = max(round(smallest_m2 / grid.cell_m**2), 1)
    shapes, kinds = outlines(without_specks(classes, fewest), grid)
    # All edges at once, so that two neighbours keep the same line between them.
    smooth = shapely.coverage_simplify(shapes, SMOOTHED_BY_CELLS * grid.cell_m)
    inside = area_parts(shapely.intersection(smooth, free))
    parts, of = shapely.get_parts(inside, return_index=True)
    kept = shapely.area(parts) >= smallest_m2
    return parts[kept], kinds[of[kept]]


def _rows(
    name: str, shapes: Shapes, kinds: Classes, grid: Grid, found: Seen
) -> list[dict[str, Any]]:
    latitude = np.full(shapes.size, grid.lat)
    areas_m2 = plan_areas(shapes, latitude)
    cells = coverage(shapes, grid)
    same = found.classes.reshape(-1)[cells.cell] == kinds[cells.shape]
    agreeing = np.bincount(cells.shape, cells.share * same, shapes.size)
    with np.errstate(invalid="ignore", divide="ignore"):
        agreement = np.nan_to_num(agreeing / np.bincount(cells.shape, cells.share, shapes.size))
    return [
        {
            "property": name,
            "draft_kind": KINDS[int(kind)],
            "area_m2": float(area_m2),
            "area_sqft": square_feet(float(area_m2)),
            "confidence": float(agrees * found.green.separability),
            "index": found.index,
            "threshold": found.green.threshold,
        }
        for kind, area_m2, agrees in zip(kinds, areas_m2, agreement, strict=True)
    ]


def _taken(picture: Raster, asked: PictureAsked) -> str | None:
    return picture.taken if asked.taken is None else asked.taken.isoformat()


def _cautions(parts: Sequence[_Part], picture: Raster, asked: PictureAsked) -> list[str]:
    said = [
        "Drafts are guesses from colour. None is a zone, none counts as treatable, and nothing is"
        " due on them until you accept one by its number. Walk the ground first: wells, water and"
        " play areas are not in them."
    ]
    if _taken(picture, asked) is None:
        said.append("When the picture was taken is not known; give --taken if you know it.")
    bare = [part.name for part in parts if part.found is None]
    if bare:
        said.append(f"Nothing was drafted at {few(bare)}: all zones already, or no picture there.")
    weak = _named(parts, lambda found: found.green.separability < WEAK_SEPARABILITY)
    if weak:
        said.append(f"Green and not green are hard to tell apart at {few(weak)}: look twice.")
    alike = _named(parts, lambda found: found.rough is None)
    if alike:
        said.append(f"Crowns and grass could not be told apart by texture at {few(alike)}.")
    if len(asked.bands) < 4:
        said.append(
            "Without infrared, dry grass looks like bare ground, and a green roof like grass."
        )
    return said


def _named(parts: Sequence[_Part], which: Callable[[Seen], bool]) -> list[str]:
    return [part.name for part in parts if part.found is not None and which(part.found)]
