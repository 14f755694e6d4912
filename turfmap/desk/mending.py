"""Ground drawn twice, or left out between zones: found, and given to one of them."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from turfmap.desk.drawn_features import feature_of, invalid_faults, row_of_feature, shape_of
from turfmap.desk.edit_faults import FaultRow, RefusedError, plain_fault, refused
from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.near_ground import grown
from turfmap.desk.place import LON_LAT, rank_of, with_property
from turfmap.foundations import plane
from turfmap.foundations.definitions import map_layer
from turfmap.foundations.errors import input_fault
from turfmap.foundations.shapes import is_present, repaired, shape_array
from turfmap.foundations.units import area_words
from turfmap.ground.inspection import drawn_twice, gaps
from turfmap.ground.near import Indices
from turfmap.ground.seams import GRID_M, Sheet, beside, gap_given, narrow_gaps, overlap_given, sheet
from turfmap.store import geopackage
from turfmap.store.near_rows import near_rows, rows_with

# Zones this near to what is mended get its corners.
NEAR_M = 3.0


def odd(path: Path, *, property_name: str | None = None) -> dict[str, Any]:
    """Find where the zones of a place overlap, and narrow ground between them that none has.

    Parameters
    ----------
    path
        The place; nothing is written.
    property_name
        Only this property: overlaps that one of its zones is part of, and its gaps.

    Returns
    -------
    dict
        ``overlaps`` and ``gaps``: as of `turfmap.desk.edit_faults.plain_fault`, with ``area_m2``;
        ``with`` names all zones that it is about.

    Raises
    ------
    InputFaultsError
        If the file cannot be read, or there is no such property.
    """
    with geopackage.reading(path) as connection:
        properties, zones = (
            geopackage.read_rows(connection, map_layer(name), file=str(path)).to_crs(LON_LAT)
            for name in ("property", "zone")
        )
    mended, _ = repaired(shapes_of(zones))
    zones = with_property(zones.set_geometry(gpd.GeoSeries(mended, crs=LON_LAT)), properties)
    names = sorted(set(properties["name"]) | set(zones["property"]))
    if property_name is not None and property_name not in names:
        raise input_fault(
            f"there is no property {property_name!r}", "choose one that is there", file=str(path)
        )
    chosen = np.isin(
        zones["property"].to_numpy(str), names if property_name is None else [property_name]
    )
    owner = np.searchsorted(names, zones["property"].to_numpy(str)).astype(np.int64)
    twice = [
        one for one in drawn_twice(mended, rank_of(zones)) if chosen[[one.zone, one.other]].any()
    ]
    narrow = gaps(mended, np.where(chosen, owner, -1))
    return {
        "overlaps": [
            _told(zones, "overlap", one.shape, one.area_m2, np.array([one.zone, one.other]))
            for one in twice
        ],
        "gaps": [
            _told(zones, "gap", one.shape, one.area_m2, beside(mended, one.shape)) for one in narrow
        ],
    }


def _told(
    zones: gpd.GeoDataFrame,
    kind: str,
    shape: shapely.Geometry | None,
    area_m2: float,
    which: Indices,
) -> FaultRow:
    rows = zones.iloc[which]
    called = " and ".join(str(name) for name in rows["name"][:3])
    problem = (
        f"{called} both have {area_words(area_m2)} of ground"
        if kind == "overlap"
        else f"{area_words(area_m2)} between {called} is in no zone"
    )
    mend = "give it to one of them" + ("" if kind == "overlap" else ", unless it is meant")
    return plain_fault(problem, mend, kind, where=shape, others=list(rows["id"])) | {
        "area_m2": area_m2
    }


def mend(
    path: Path,
    *,
    found: Mapping[str, Any],
    give_to: str,
    edits: Sequence[Mapping[str, Any]] = (),
) -> dict[str, Any]:
    """Give the ground of an overlap or a gap to one zone, so that they share one edge.

    Parameters
    ----------
    path
        The place; nothing is written.
    found
        A fault or note of kind overlap or gap, as `odd`, measuring or judging told it.
    give_to
        The identity of the zone that gets the ground.
    edits
        Edits that are not saved yet, in the form in which they will be; those of zones count as
        drawn, and come back mended.

    Returns
    -------
    dict
        ``edits``: of every zone that changes, corners put into a neighbour's edge included,
        without etags where the row is stored.

    Raises
    ------
    RefusedError
        If it is not there any more, or nothing would be left of a zone.
    InputFaultsError
        If the file cannot be read.
    """
    where = shape_of(found.get("where"))
    pending = {
        edit["id"]: edit
        for edit in edits
        if edit.get("layer") == "zone" and isinstance(edit.get("id"), str)
    }
    zones = _zones_round(path, where, pending, [give_to, *map(str, found.get("with") or ())])
    names = zones["id"].to_list()
    if give_to not in names:
        raise refused("the zone that is to get the ground is not there", "look again")
    laid = sheet(np.append(shapes_of(zones), [where]))
    ground = Sheet(laid.flat[:-1], laid.origin, laid.known)
    owner = names.index(give_to)
    if found.get("kind") == "gap":
        flat = _gap_filled(ground, laid.flat[-1], owner)
    else:
        flat = _overlap_settled(zones, ground, laid.flat[-1], owner)
    return {"edits": _edits(zones, ground, flat, pending, edits)}


def _zones_round(
    path: Path,
    where: shapely.Geometry,
    pending: Mapping[Any, Mapping[str, Any]],
    named: Sequence[str],
) -> gpd.GeoDataFrame:
    """Return the zones round what is to be mended, those not saved yet in place of their rows."""
    boxes = grown(plane.bounds(shape_array(where)), NEAR_M)
    columns = list(map_layer("zone").columns)
    with geopackage.reading(path) as connection:
        near = near_rows(connection, "zone", boxes, file=str(path))
        far = rows_with(connection, "zone", "id", set(named) - set(near["id"]), file=str(path))
    stored = [row for frame in (near, far) for row in frame.to_dict("records")]
    rows = [row for row in stored if row["id"] not in pending]
    for identity, edit in pending.items():
        if edit.get("op") != "delete":
            shape = shape_of(edit.get("feature"))
            row = row_of_feature(edit["feature"], "zone")
            rows.append(row | {"id": identity, "geometry": shape})
    shapes, _ = repaired(shape_array([row["geometry"] for row in rows]).reshape(-1))
    kept = np.flatnonzero(is_present(shapes))
    values = {name: [rows[index].get(name) for index in kept] for name in ["id", *columns]}
    return gpd.GeoDataFrame(values, geometry=shapes[kept], crs=LON_LAT)


def _overlap_settled(
    zones: gpd.GeoDataFrame, ground: Sheet, where: shapely.Geometry, owner: int
) -> "np.ndarray[Any, Any]":
    shared = shapely.area(
        shapely.intersection(shapely.intersection(ground.flat, ground.flat[owner]), where)
    )
    shared[owner] = 0.0
    loser = int(np.argmax(shared))
    if not shared[loser] > 0.0:
        raise refused("that ground is not drawn twice any more", "look again", "overlap")
    flat = overlap_given(ground.flat, owner=owner, loser=loser)
    if not is_present(flat)[loser]:
        raise refused(
            f"nothing would be left of {zones['name'].iloc[loser] or 'the other zone'}",
            "give the ground to it, or delete it",
            "overlap",
        )
    return flat


def _gap_filled(ground: Sheet, where: shapely.Geometry, owner: int) -> "np.ndarray[Any, Any]":
    found = narrow_gaps(ground.flat)
    shared = shapely.area(shapely.intersection(found, where))
    if not (shared > 0.0).any():
        raise refused("that gap is not there any more", "look again", "gap")
    flat = gap_given(ground.flat, found[int(np.argmax(shared))], owner=owner)
    if shapely.get_num_geometries(flat[owner]) > shapely.get_num_geometries(ground.flat[owner]):
        raise refused("the gap does not touch that zone", "give it to one beside it", "gap")
    return flat


def _edits(
    zones: gpd.GeoDataFrame,
    ground: Sheet,
    flat: "np.ndarray[Any, Any]",
    pending: Mapping[Any, Mapping[str, Any]],
    edits: Sequence[Mapping[str, Any]],
) -> list[dict[str, Any]]:
    """Return what must be written, edits that are not saved yet among it."""
    changed = np.flatnonzero(~shapely.equals_exact(ground.flat, flat, GRID_M / 2.0))
    back = dict(zip(changed.tolist(), ground.back(flat[changed]), strict=True))
    faults = [fault for shape in back.values() for fault in invalid_faults(shape, "zone")]
    if faults:
        raise RefusedError(faults)
    rows = zones.to_dict("records")
    mended: dict[Any, dict[str, Any]] = {}
    for index, shape in back.items():
        replacing = replacement(rows[index], shape)
        mended[replacing["id"]] = replacing | {
            name: value
            for name, value in pending.get(replacing["id"], {}).items()
            if name != "feature"
        }
    told = [mended.pop(str(edit.get("id")), dict(edit)) for edit in edits]
    return [*told, *mended.values()]


def replacement(row: Mapping[Any, Any], shape: shapely.Geometry) -> dict[str, Any]:
    """Return the edit that gives a zone another shape and leaves its values as they are."""
    columns = map_layer("zone").columns
    values = {name: row[name] for name in columns if not pd.isna(row[name])}
    feature = feature_of(shape, values, row["id"])
    return {"layer": "zone", "op": "replace", "id": row["id"], "feature": feature}
