"""Features of the drawn layers as GeoJSON texts, each with the entity tag of its row."""

import hashlib
import json
import os
import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from turfmap.desk import reference_systems
from turfmap.desk.reference_systems import CRS84
from turfmap.foundations.definitions import Layer, map_layer
from turfmap.foundations.shapes import Shapes, shape_array
from turfmap.store import feature_rows, geopackage
from turfmap.store.feature_rows import FeatureRows, Wanted, kept_in

MOST_A_PAGE = 10_000
# In the order in which they are drawn and shown.
DRAWN = ("property", "zone", "water", "sensitive_site", "obstacle", "canopy", "gate")


@dataclass(frozen=True)
class Told:
    """A feature ready to be sent.

    Attributes
    ----------
    text
        GeoJSON in the system that was asked for, its own entity tag in the member ``etag``.
    etag
        Strong: the SHA-256 of the row in canonical JSON, in quotes as HTTP writes it. It needs no
        column of its own, so an edit of another program changes it too.
    """

    identity: str
    text: str
    etag: str

    def plain(self) -> dict[str, Any]:
        """Return the feature as plain data."""
        found: dict[str, Any] = json.loads(self.text)
        return found


@dataclass(frozen=True)
class Page:
    """Features of a layer, and how many there are in all."""

    features: list[Told]
    matched: int


@dataclass(frozen=True)
class Query:
    """Which features of a layer are asked for, and how they are to be written.

    Attributes
    ----------
    bbox
        Lower and upper corner in the order of axes of `bbox_crs`.
    first_day, last_day
        ISO dates; None: open. They ask nothing of a layer without a column of days.
    crs, bbox_crs
        Names as in `turfmap.desk.reference_systems`.
    """

    bbox: tuple[float, float, float, float] | None = None
    bbox_crs: str = CRS84
    crs: str = CRS84
    first_day: str | None = None
    last_day: str | None = None
    limit: int = MOST_A_PAGE
    offset: int = 0


def drawn_layers() -> dict[str, Layer]:
    """Return the layers that people draw, by name, in the order in which they are shown."""
    return {name: map_layer(name) for name in DRAWN}


def is_writable(path: Path) -> bool:
    """Tell whether a place may be written to."""
    return os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)


def collections(path: Path) -> list[dict[str, Any]]:
    """Describe the drawn layers of a place.

    Returns
    -------
    list of dict
        ``name, title, plain, bounds`` (west, south, east, north [deg] or None), ``systems`` (names
        of what it is offered in) and ``kept`` (the one that it is kept in).
    """
    with geopackage.reading(path) as connection:
        return [_described(connection, layer, path) for layer in drawn_layers().values()]


def _described(connection: sqlite3.Connection, layer: Layer, path: Path) -> dict[str, Any]:
    kept = kept_in(connection, layer, str(path))
    box = feature_rows.extent(connection, layer)
    corners: Shapes = shape_array([shapely.box(*box)] if box else [])
    around = reference_systems.outgoing(corners, kept, CRS84)
    return {
        "name": layer.name,
        "title": layer.title,
        "plain": layer.plain,
        "bounds": shapely.bounds(around[0]).tolist() if box else None,
        "systems": reference_systems.offered(kept),
        "kept": reference_systems.uri_of(kept),
    }


def features(path: Path, layer_name: str, query: Query) -> Page:
    """Read a page of a layer.

    Raises
    ------
    InputFaultsError
        If the query names a system that is not offered, or a box that is none.
    """
    layer = drawn_layers()[layer_name]
    with geopackage.reading(path) as connection:
        kept = kept_in(connection, layer, str(path))
        reference_systems.check_offered(query.crs, kept, record="crs")
        boxes = None
        if query.bbox is not None:
            reference_systems.check_offered(query.bbox_crs, kept, record="bbox-crs")
            boxes = reference_systems.incoming_boxes(query.bbox, query.bbox_crs, kept)
        wanted = Wanted(boxes, day_column(layer), query.first_day, query.last_day)
        limit = min(query.limit, MOST_A_PAGE)
        found = feature_rows.page(
            connection, layer, wanted, limit=limit, offset=query.offset, file=str(path)
        )
    return Page(told(found, query.crs), found.matched)


def day_column(layer: Layer) -> str | None:
    """Return the column of days that a layer can be asked by, or None."""
    return next((name for name, column in layer.columns.items() if column.type == "date"), None)


def feature(path: Path, layer_name: str, identity: str, *, crs: str = CRS84) -> Told | None:
    """Read one feature, or None if there is none of that identity."""
    layer = drawn_layers()[layer_name]
    with geopackage.reading(path) as connection:
        kept = kept_in(connection, layer, str(path))
        reference_systems.check_offered(crs, kept, record="crs")
        return told_row(connection, layer, identity, file=str(path), crs=crs)


def told_row(
    connection: sqlite3.Connection, layer: Layer, identity: str, *, file: str, crs: str = CRS84
) -> Told | None:
    """Read one feature on an open connection."""
    found = feature_rows.row_of(connection, layer, identity, file=file)
    return told(found, crs)[0] if found else None


def told(found: FeatureRows, crs: str = CRS84) -> list[Told]:
    """Write rows as GeoJSON in a named system, each with its entity tag.

    The tag is that of the row as it is kept, so it is the same in every system.
    """
    kept = found.shapes
    asked = reference_systems.outgoing(kept, found.crs, crs)
    cores = list(_cores(found, kept))
    shown = cores if asked is kept else list(_cores(found, asked))
    made = []
    for identity, core, text in zip(found.identities, cores, shown, strict=True):
        etag = f'"{hashlib.sha256(core.encode()).hexdigest()}"'
        made.append(Told(identity, f'{text[:-1]},"etag":{json.dumps(etag)}}}', etag))
    return made


def _cores(found: FeatureRows, shapes: Shapes) -> Iterable[str]:
    """Write canonical JSON: keys in order, no spaces, every digit of a number."""
    written = shapely.to_geojson(_fit_to_write(shapes))
    for identity, values, geometry in zip(found.identities, found.values, written, strict=True):
        properties = json.dumps(
            values, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
        )
        yield (
            f'{{"geometry":{geometry or "null"},"id":{json.dumps(identity)},'
            f'"properties":{properties},"type":"Feature"}}'
        )


def _fit_to_write(shapes: Shapes) -> Shapes:
    """Wind rings as RFC 7946 3.1.6 asks, and leave out shapes that have no finite corner."""
    corners, owner = shapely.get_coordinates(shapes, return_index=True)
    broken = np.unique(owner[~np.isfinite(corners).all(axis=1)])
    fit: Shapes = shapely.orient_polygons(shapely.force_2d(shapes))
    fit[broken] = None
    return fit
