"""What has just been saved, and what the zones that it touched are judged by."""

import sqlite3
from collections.abc import Mapping, Sequence
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd

from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.measuring import TOUCHING
from turfmap.desk.near_ground import Change
from turfmap.desk.place import NO_PROPERTY, with_property
from turfmap.desk.season_inputs import History, as_declared, middles, zone_rows
from turfmap.foundations import plane
from turfmap.foundations.definitions import map_layers
from turfmap.foundations.shapes import repaired
from turfmap.ground.nearest import nearest
from turfmap.store import visits
from turfmap.store.near_rows import layer_of, near_rows, rows_with
from turfmap.store.replaced_rows import Replaced, replaced_rows

Row = dict[str, Any]
Middles = Mapping[str, tuple[float, float]]
Beside = tuple[list[Row], tuple[gpd.GeoDataFrame, Middles, History]]

# A line or a state that changes can change every zone.
TOUCHES_ALL = ("property",)
# No row that stands has this number.
GONE_FID = -2


def changes_of(
    connection: sqlite3.Connection, changed: Sequence[str], *, file: str
) -> list[Change] | None:
    """Return features that have just been saved as they are, and as they were by the change log.

    None where one of them is not known, or touches everything. Features of layers that touch no
    zone are left out.
    """
    drawn = [name for name, layer in map_layers().items() if layer.geometry]
    found = {of: layer_of(connection, drawn, of) for of in changed}
    after = {
        row["id"]: (name, row)
        for name in dict.fromkeys(found.values())
        if name is not None
        for row in _records(rows_with(connection, name, "id", changed, file=file))
    }
    before = replaced_rows(connection, changed)
    layers = {of: name for of, (name, _) in after.items()}
    layers |= {old.identity: old.layer for old in before}
    if set(changed) - layers.keys() or set(TOUCHES_ALL) & set(layers.values()):
        return None
    now = [Change(name, None, row) for name, row in after.values()]
    then = [
        Change(old.layer, _as_it_was(old, after), None) for old in before if old.values is not None
    ]
    return [change for change in [*then, *now] if change.layer in TOUCHING]


def _records(frame: gpd.GeoDataFrame) -> list[Row]:
    mended, _ = repaired(shapes_of(frame))
    rows: list[Row] = frame.assign(geometry=mended).to_dict("records")
    return rows


def _as_it_was(old: Replaced, after: Mapping[str, tuple[str, Row]]) -> Row:
    fid = after[old.identity][1]["fid"] if old.identity in after else GONE_FID
    (mended,), _ = repaired(old.shapes)
    return (old.values or {}) | {"fid": fid, "id": old.identity, "geometry": mended}


def beside_touched(
    connection: sqlite3.Connection,
    touched: gpd.GeoDataFrame,
    changes: Sequence[Change],
    *,
    file: str,
) -> Beside | None:
    """Return what touched zones are judged by: their rows, properties, and what was done there.

    None where a run over everything is needed: a zone of no property, whose weather is that amid
    all such zones, or a property whose nearest weather station is another now.
    """
    names = sorted(set(touched["property"]))
    if NO_PROPERTY in names:
        return None
    properties = rows_with(connection, "property", "name", names, file=file)
    frame = _zones_of(connection, names, properties, file=file)
    amid = middles(zone_rows(frame, file=file))
    earlier = middles(_as_they_were(zone_rows(frame, file=file), frame, changes))
    if not _same_station(connection, amid, earlier, file=file):
        return None
    mine = frame[frame["fid"].isin(touched["fid"])]
    history = _history(connection, names, file=file)
    return zone_rows(mine, file=file), (properties, amid, history)


def _zones_of(
    connection: sqlite3.Connection, names: Sequence[str], properties: gpd.GeoDataFrame, *, file: str
) -> gpd.GeoDataFrame:
    """Return all zones of some properties: by name, and those without one that lie in them."""
    named = rows_with(connection, "zone", "property", names, file=file)
    near = near_rows(connection, "zone", plane.bounds(shapes_of(properties)), file=file)
    bare = near[near["property"].isna() | (near["property"] == "")]
    lines = near_rows(connection, "property", plane.bounds(shapes_of(bare)), file=file)
    bare = with_property(bare, lines)
    bare = bare[bare["property"].isin(names)]
    both = pd.concat([named, bare]) if len(bare) else named
    return both.sort_values("fid").reset_index(drop=True)


def _as_they_were(
    rows: Sequence[Row], frame: gpd.GeoDataFrame, changes: Sequence[Change]
) -> list[Row]:
    """Return the zones with their middles before the latest changes."""
    latest = {
        change.before["id"]: change.before
        for change in reversed(changes)  # newest first; the newest of a row is kept
        if change.layer == "zone" and change.before
    }
    old = list(latest.values())
    changed = {change.after["fid"] for change in changes if change.layer == "zone" and change.after}
    kept = [row for row, fid in zip(rows, frame["fid"], strict=True) if fid not in changed]
    points = [None if row["geometry"] is None else row["geometry"].centroid for row in old]
    return kept + [
        {"property": row["property"], "longitude": point.x, "latitude": point.y}
        for row, point in zip(old, points, strict=True)
        if point is not None and not point.is_empty
    ]


def _same_station(
    connection: sqlite3.Connection, amid: Middles, earlier: Middles, *, file: str
) -> bool:
    """Tell whether every property has the weather station that it had."""
    used = connection.execute("SELECT DISTINCT station FROM weather").fetchall()
    stations = rows_with(
        connection, "weather_station", "name", [name for (name,) in used], file=file
    )
    if len(stations) < 2:
        return True
    points = np.array([(point.x, point.y) for point in stations.geometry if point is not None])
    both = [name for name in amid if name in earlier]
    now, then = (
        nearest(np.array([where[name] for name in both]).reshape(-1, 2), points)[0]
        for where in (amid, earlier)
    )
    return bool((now == then).all())


def _history(connection: sqlite3.Connection, names: Sequence[str], *, file: str) -> History:
    """Return the answers and the standing visits of some properties."""
    answers = rows_with(connection, "client_answer", "property", names, file=file)
    mine = rows_with(connection, "visit", "property", names, file=file)
    # A record may have been corrected into one of another property.
    asked = [*visits.record_names(mine), *mine["id"]]
    corrections = rows_with(connection, "visit", "corrects", asked, file=file)
    both = pd.concat([mine, corrections]) if len(corrections) else mine
    both = both.drop_duplicates("fid").sort_values("fid")
    standing = visits.standing(both)
    standing = standing[standing["property"].isin(names)]
    return History(
        as_declared(answers, "client_answer", file=file),
        as_declared(standing, "visit", file=file),
    )
