"""The ground round an edit: read from the file by boxes, as it is and as the edit makes it."""

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.place import LON_LAT, READ, Place, place_of
from turfmap.desk.protected import Overrides, protected_kinds
from turfmap.foundations import plane
from turfmap.foundations.definitions import Table, table
from turfmap.foundations.plane import METRES_PER_DEGREE_AT_LEAST, Floats
from turfmap.foundations.shapes import shape_array
from turfmap.ground.near import Indices
from turfmap.ground.setbacks import Work, setbacks
from turfmap.store.near_rows import near_boxes, near_rows, one_of_each, widest

Frames = dict[str, gpd.GeoDataFrame]
Row = Mapping[str, Any]

# Setbacks are drawn a little outside (see ground.nospray), and boxes are cheap.
GENEROUS, SPARE_M = 1.05, 2.0
# A new row comes after all that are there: of equal zones that share ground, the first owns it.
LAST_FID = 2**62
# Columns by which a row reaches beyond its own shape, and what part of each counts.
REACHING = {
    "water": {"width_m": 0.5, "position_margin_m": 1.0},
    "sensitive_site": {"width_m": 0.5, "position_margin_m": 1.0},
    "obstacle": {"width_m": 0.5},
    "zone": {"position_margin_m": 1.0},
}


@dataclass(frozen=True)
class Change:
    """One row as it was and as it is after an edit.

    Attributes
    ----------
    layer
        Its layer.
    before, after
        Its values with ``fid``, ``id`` and ``geometry`` (EPSG:4326, valid); None where it is new
        or deleted.
    """

    layer: str
    before: Row | None
    after: Row | None

    def boxes(self) -> Floats:
        """Return the boxes of its shapes, shape (2, 4) [deg]; NaN where there is none."""
        shapes = [None if row is None else row["geometry"] for row in (self.before, self.after)]
        return plane.bounds(shape_array(shapes))

    def reaches(self) -> bool:
        """Tell whether it takes ground beyond its own shape."""
        if self.layer != "zone":
            return True
        acting = {row["kind"] for row in table("zone_kind").rows if row["stands_for"]}
        return any(row is not None and row["kind"] in acting for row in (self.before, self.after))


def reach_m(connection: sqlite3.Connection, changes: Sequence[Change], rules: Table) -> float:
    """Return how far anything in a file can take ground from a zone at most [m]."""
    used = setbacks(protected_kinds(), rules, Work(place_unknown=True), {}).values()
    setback_m = max((max(one.distance_m, one.asked_m) for one in used), default=0.0)
    margin_m = max(row["position_margin_m"] for row in table("edge_known_by").rows)
    beyond_m = [float(margin_m)]
    for layer, columns in REACHING.items():
        here_m = {name: widest(connection, layer, name) for name in columns}
        for row in _rows_of(changes, layer):
            here_m = {name: max(most, _number(row.get(name))) for name, most in here_m.items()}
        beyond_m.append(sum(columns[name] * most for name, most in here_m.items()))
    return float(GENEROUS * (setback_m + margin_m + max(beyond_m)) + SPARE_M)


def _rows_of(changes: Sequence[Change], layer: str) -> list[Row]:
    return [
        row
        for change in changes
        if change.layer == layer
        for row in (change.before, change.after)
        if row is not None
    ]


def _number(value: object) -> float:
    found = float(value) if isinstance(value, int | float) else 0.0
    return found if 0.0 <= found < np.inf else 0.0


def frames_round(
    connection: sqlite3.Connection, path: Path, changes: Sequence[Change], rules: Table
) -> tuple[Frames, Floats]:
    """Read all that zones touched by some changes are measured by, as the file holds it.

    Parameters
    ----------
    connection
        In a transaction: nothing may be read here through another one, as that would wait for a
        writer who waits for this one.
    path
        The place, for messages.
    changes
        What changes.
    rules
        Setbacks with the user's own, read before the transaction began.

    Returns
    -------
    frames : dict of str to GeoDataFrame
        Rows of each layer in `turfmap.desk.place.READ`.
    boxes : ndarray of float, shape (n, 4)
        Where zones may be touched [deg].
    """
    far_m = reach_m(connection, changes, rules)
    at = [grown(each.boxes(), far_m if each.reaches() else 0.0) for each in changes]
    boxes = np.concatenate([np.empty((0, 4)), *at])
    zones = near_boxes(connection, "zone", boxes)
    everything = grown(np.concatenate([boxes, zones]), far_m)
    frames = {name: near_rows(connection, name, everything, file=str(path)) for name in READ}
    # The rules of every state that some property lies in apply to all of them.
    of_each = one_of_each(connection, "property", "state", file=str(path))
    both = pd.concat([frames["property"], of_each]) if len(of_each) else frames["property"]
    frames["property"] = both.drop_duplicates("fid").sort_values("fid").reset_index(drop=True)
    return frames, boxes


def grown(boxes: Floats, distance_m: float) -> Floats:
    """Grow lon/lat boxes by a distance on the ground, generously, shape (n, 4) [deg]."""
    north_south = 1.01 * distance_m / METRES_PER_DEGREE_AT_LEAST
    furthest = np.minimum(np.abs(boxes[:, [1, 3]]).max(axis=1, initial=0.0) + north_south, 89.9)
    east_west = north_south / np.cos(np.radians(furthest))
    sides = [-east_west, np.full(len(boxes), -north_south)]
    found: Floats = boxes + np.column_stack([*sides, *(-side for side in sides)])
    return found


def with_changes(frames: Frames, changes: Sequence[Change]) -> Frames:
    """Return the frames as the changes make them: rows replaced, taken out, put in."""
    changed = dict(frames)
    for change in changes:
        if change.layer not in changed:
            continue
        frame = changed[change.layer]
        gone = [row["fid"] for row in (change.before, change.after) if row is not None]
        frame = frame[~frame["fid"].isin(gone)]
        if change.after is not None:
            frame = pd.concat([frame, one_row(change.after, frame)], ignore_index=True)
            frame = frame.sort_values("fid", kind="stable").reset_index(drop=True)
        changed[change.layer] = frame
    return changed


def one_row(row: Row, like: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return a frame of one row with the columns and types of another."""
    columns = [name for name in like.columns if name != "geometry"]
    frame = pd.DataFrame({name: [row.get(name)] for name in columns}, dtype=object)
    for name in columns:
        if like[name].dtype != object:
            frame[name] = pd.to_numeric(frame[name], errors="coerce").astype(float)
    return gpd.GeoDataFrame(frame, geometry=shape_array(row["geometry"]), crs=LON_LAT)


def near_place(frames: Frames, rules: Table, path: Path) -> Place:
    """Return the place that the rows round an edit make; nothing is read."""
    return place_of(frames, rules, path, property_name=None, product=None, overrides=Overrides({}))


def touched_zones(place: Place, boxes: Floats) -> Indices:
    """Return which zones of a place may be touched by changes, a little more than are.

    Parameters
    ----------
    place
        From `near_place`.
    boxes
        From `frames_round`, shape (n, 4) [deg].
    """
    if not len(boxes):
        return np.empty(0, dtype=np.int64)
    tree = shapely.STRtree(shapes_of(place.zones))
    there = boxes[~np.isnan(boxes).any(axis=1)]
    found: Indices = np.unique(tree.query(shapely.box(*there.T))[1])
    return found
