"""What a shape would mean before it is saved: its ground by parts, and its neighbours' change."""

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from turfmap.desk.area import zone_rows
from turfmap.desk.drawn_features import Feature, invalid_faults, row_of_feature, shape_of
from turfmap.desk.edit_faults import FaultRow, plain_geometry
from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.judging_edits import StoredGround, faults_of, notes_of
from turfmap.desk.near_ground import (
    LAST_FID,
    Change,
    frames_round,
    near_place,
    touched_zones,
    with_changes,
)
from turfmap.desk.own_rows import own_table
from turfmap.desk.place import Place, rank_of
from turfmap.foundations.definitions import map_layer
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import repaired
from turfmap.ground.edits import cut_again
from turfmap.ground.near import Indices, obstacles_around, protected_around
from turfmap.ground.nospray import no_spray_ground
from turfmap.ground.treatable import Treatable
from turfmap.store import geopackage
from turfmap.store.near_rows import rows_with

NEW = "new"
# Layers whose rows are zones or take ground from zones; others that are drawn touch none.
TOUCHING = ("zone", "water", "sensitive_site", "obstacle")
# A change of less than this is none that anybody could see [m2].
SMALLEST_CHANGE_M2 = 0.005
_NOTHING: dict[str, Any] = {"zone": None, "neighbours": [], "no_spray": None}


def measure(
    path: Path,
    *,
    layer: str,
    identity: str | None,
    feature: Feature,
    others: Sequence[Mapping[str, Any]] = (),
) -> dict[str, Any]:
    """Measure a shape that is being drawn, as `turfmap area` would once it was saved.

    Parameters
    ----------
    path
        The place; nothing is written.
    layer
        The layer that it is of.
    identity
        The row that it takes the place of; None if it is new.
    feature
        The drawing, a GeoJSON feature.
    others
        Edits that are to be saved with it, such as neighbours cut to fit: each replaces a row.

    Returns
    -------
    dict
        ``ok``; ``faults`` that would refuse it and ``notes`` that would not; ``zone``, what was
        found of it as of `turfmap.desk.area.area` (None if it is no zone or broken);
        ``neighbours`` whose treatable ground changes; ``no_spray``, a GeoJSON geometry: of a zone
        what it loses, of a protected feature the whole ground within its reach.

    Raises
    ------
    RefusedError
        If there is no shape to measure.
    InputFaultsError
        If the file cannot be read.
    """
    shape = shape_of(feature)
    identity = identity if isinstance(identity, str) else None
    if faults := invalid_faults(shape, layer):
        return {"ok": False, "faults": faults, "notes": [], **_NOTHING}
    rules = own_table(path, "setback")
    with geopackage.reading(path) as connection:
        change = _change(connection, path, layer, identity, feature)
        changes = [change, *_companions(connection, path, others)]
        ground = StoredGround(connection, str(path))
        op = "create" if change.before is None else "replace"
        edit = {"layer": layer, "op": op, "id": identity, "feature": feature}
        edits = [edit, *others]
        faults, notes = faults_of(edits, ground), notes_of([edit], ground)
        frames, boxes = frames_round(connection, path, changes, rules)
    before = near_place(frames, rules, path)
    after = near_place(with_changes(frames, changes), rules, path)
    return {
        "ok": not faults,
        "faults": _of_one(faults),
        "notes": _of_one(notes),
        **_consequence(change, (before, after), boxes),
    }


def _companions(
    connection: sqlite3.Connection, path: Path, edits: Sequence[Mapping[str, Any]]
) -> list[Change]:
    return [_change(connection, path, one["layer"], one["id"], one["feature"]) for one in edits]


def _of_one(rows: Sequence[FaultRow]) -> list[FaultRow]:
    return [{name: value for name, value in row.items() if name != "edit"} for row in rows]


def _change(
    connection: sqlite3.Connection, path: Path, layer: str, identity: str | None, feature: Feature
) -> Change:
    before = None
    if identity is not None:
        found = rows_with(connection, layer, "id", [identity], file=str(path))
        if len(found):
            mended, _ = repaired(shapes_of(found.iloc[:1]))
            before = found.iloc[0].to_dict() | {"geometry": mended[0]}
    named = identity or feature.get("id")
    row = dict.fromkeys(map_layer(layer).columns) | row_of_feature(feature, layer)
    after = row | {
        "fid": LAST_FID if before is None else before["fid"],
        "id": named if isinstance(named, str) else NEW,
        "geometry": shape_of(feature),
    }
    return Change(layer, before, after)


def _consequence(change: Change, places: tuple[Place, Place], boxes: Floats) -> dict[str, Any]:
    """Return what a change does to its own zone and to those round it."""
    touches = change.layer in TOUCHING
    (was, _), (found, cut) = (
        cut_near(place, touched_zones(place, boxes) if touches else np.empty(0, dtype=np.int64))
        for place in places
    )
    own = change.after["id"] if change.after and change.layer == "zone" else None
    zone = next((row for row in found if row["id"] == own), None)
    earlier = {row["id"]: row["treatable_m2"] for row in was}
    neighbours = [
        {
            "id": row["id"],
            "name": row["zone"],
            "before": earlier.get(row["id"], 0.0),
            "after": row["treatable_m2"],
        }
        for row in found
        if row["id"] != own
        and abs(row["treatable_m2"] - earlier.get(row["id"], 0.0)) > SMALLEST_CHANGE_M2
    ]
    taken = _reach_of(change, places[1]) if zone is None else _lost(cut, found.index(zone))
    return {
        "zone": zone,
        "neighbours": neighbours,
        "no_spray": None if taken is None else plain_geometry(taken),
    }


def cut_near(place: Place, chosen: Indices) -> tuple[list[dict[str, Any]], Treatable]:
    """Measure some of the zones of a place, to the bits of a run over all of them.

    Returns
    -------
    rows : list of dict
        As of `turfmap.desk.area.area`.
    found : Treatable
        The shapes behind them.
    """
    zones = shapes_of(place.zones)
    found = cut_again(
        zones,
        chosen,
        obstacles_around(place.obstacle_things()),
        protected_around(place.protected_things()),
        rank=rank_of(place.zones),
        neighbours=shapely.STRtree(zones),
    )
    return zone_rows(replace(place, zones=place.zones.iloc[chosen]), found), found


def _lost(cut: Treatable, number: int) -> shapely.Geometry | None:
    """Return the no-spray ground of one of the zones that were cut."""
    mine = cut.lost_shapes()[cut.losses.zone == number]
    return shapely.union_all(mine) if mine.size else None


def _reach_of(change: Change, place: Place) -> shapely.Geometry | None:
    """Return the no-spray ground of a protected feature."""
    row: Mapping[str, Any] = change.after or {}
    rows = np.flatnonzero(
        (place.protected["id"] == row.get("id")) & (place.protected["layer"] == change.layer)
    )
    if not rows.size:
        return None
    things = place.protected_things()
    found: shapely.Geometry = no_spray_ground(things.shapes[rows], things.radius_m[rows])[0]
    return found
