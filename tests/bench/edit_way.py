"""A place of any size, and the ways of having its colours after one zone was redrawn.

``python -m tests.bench.edit_way make FILE ZONES`` makes the place, all of it invented;
``python -m tests.bench.edit_way WAY FILE EDITS`` runs a way in this process and prints its
figures: of one edit where the way follows edits, else of one run.
"""

import json
import statistics
import sys
import time
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from tests.bench.region import Region, Shapes, made
from tests.season.lawns import warm_climate
from turfmap.desk.area import area
from turfmap.desk.drawing_state import state
from turfmap.desk.due import due
from turfmap.desk.edit_faults import plain_geometry
from turfmap.desk.edits import apply_edits
from turfmap.desk.measuring import measure
from turfmap.desk.protected import Overrides
from turfmap.foundations.definitions import map_layer
from turfmap.store import geopackage

DAY = date(2026, 9, 24)
ZONES_A_PROPERTY = 3.3
HALF_A_METRE_DEGREES = 5e-6
VISITS = ("spring_pre_emergent", "feeding_warm_season", "post_emergent_second_pass")
KINDS = (
    ("water", "stream"),
    ("water", "pond"),
    ("water", "well"),
    ("sensitive_site", "playground"),
)
Rows = list[dict[str, Any]]
Timed = dict[str, list[float]]


def make(path: Path, zones: int) -> None:
    """Make a place of a number of zones, about three to a property, with weather and visits."""
    region = made(max(round(zones / ZONES_A_PROPERTY), 1))
    geopackage.create(path)
    with geopackage.editing(path) as connection:
        for layer, rows, shapes in _layers(region):
            blank = dict.fromkeys(map_layer(layer).columns)
            whole = [blank | row for row in rows]
            geopackage.append_rows(connection, map_layer(layer), whole, shapes)


def _layers(region: Region) -> list[tuple[str, Rows, Shapes | None]]:
    owners = np.unique(region.owner)
    lots = [shapely.box(*shapely.total_bounds(region.zones[region.owner == of])) for of in owners]
    is_turf = region.rank == 1.0
    zones: Rows = [
        {"name": f"Zone {index}", "property": f"Property {of}"}
        | {"kind": "turf" if turf else "bed", "species": "bermuda" if turf else None}
        for index, (of, turf) in enumerate(zip(region.owner, is_turf, strict=True))
    ]
    drawn: list[tuple[str, Rows, Shapes | None]] = [
        ("property", [{"name": f"Property {of}"} for of in owners], _areas(lots)),
        ("zone", zones, _areas(region.zones)),
        ("obstacle", [{"name": "House"}] * region.obstacles.size, region.obstacles),
    ]
    for category, (layer, kind) in enumerate(KINDS):
        shapes = region.protected[region.category == category]
        row = {"name": kind, "kind": kind, "edge_known_by": "surveyed", "width_m": 2.0}
        drawn.append((layer, [row] * shapes.size, shapes))
    return [*drawn, *_season(owners.tolist())]


def _season(owners: list[int]) -> list[tuple[str, Rows, None]]:
    days = warm_climate(DAY - timedelta(days=640), DAY)
    weather = [day | {"station": "Hill"} for day in days]
    visits = [
        {
            "property": f"Property {of}",
            "task": task,
            "date": date(2026, 3 + 2 * number, 1 + of % 28),
        }
        for of in owners
        for number, task in enumerate(VISITS)
    ]
    answers: Rows = [
        {"property": f"Property {of}", "question": "overseeding"}
        | {"answer": "planned" if of % 5 == 0 else "none", "answered_on": date(2026, 8, 1)}
        for of in owners
    ]
    return [("weather", weather, None), ("visit", visits, None), ("client_answer", answers, None)]


def _areas(shapes: object) -> Shapes:
    return geopackage.as_multi_polygons(np.asarray(shapes, dtype=object))


def _chosen(path: Path, edits: int) -> list[dict[str, Any]]:
    """Return zones spread over the file, each with its edit: a corner moved by half a metre."""
    frame = geopackage.read_layer(path, "zone")
    rows = frame.iloc[np.arange(edits) * len(frame) // edits].to_dict("records")
    siblings = frame.groupby("property")["id"].agg(list)
    return [row | {"feature": _moved(row), "siblings": siblings[row["property"]]} for row in rows]


def _moved(row: dict[str, Any]) -> dict[str, Any]:
    part = shapely.get_parts(row["geometry"])[0]
    corners = shapely.get_coordinates(part.exterior)[:-1]
    middle = corners.mean(axis=0)
    inward = middle - corners[0]
    corners[0] += HALF_A_METRE_DEGREES * inward / np.hypot(*inward)
    values = {name: row[name] for name in ("name", "property", "kind", "species")}
    geometry = plain_geometry(shapely.Polygon(corners))
    return {"type": "Feature", "geometry": geometry, "properties": values}


def _edit(path: Path, row: dict[str, Any]) -> Any:
    """Save one zone and have the new colours of what it touched."""
    edit = {"layer": "zone", "op": "replace", "id": row["id"], "etag": "*"}
    apply_edits(path, [edit | {"feature": row["feature"]}], who="bench", keep_overlaps=True)
    return state(path, as_of=DAY, changed=[row["id"]])


def _measure(path: Path, row: dict[str, Any]) -> Any:
    """Measure one zone while it is drawn."""
    return measure(path, layer="zone", identity=row["id"], feature=row["feature"])


def _property(path: Path, row: dict[str, Any]) -> Any:
    """Recompute the whole property by the pieces of work that the command line runs."""
    of = row["property"]
    found = area(path, property_name=of, product=None, overrides=Overrides({}))
    return found, due(path, as_of=DAY, property_name=of)


def _property_in_part(path: Path, row: dict[str, Any]) -> Any:
    """Recompute the whole property the way an edit is followed: only what is near it is read."""
    return state(path, as_of=DAY, changed=row["siblings"])


def _file(path: Path, _row: dict[str, Any]) -> Any:
    """Recompute the whole file."""
    return state(path, as_of=DAY)


WAYS: dict[str, Callable[[Path, dict[str, Any]], Any]] = {
    "edit": _edit,
    "measure": _measure,
    "property": _property,
    "property_in_part": _property_in_part,
    "file": _file,
}


def run(way: str, path: Path, edits: int) -> dict[str, float]:
    """Run a way over some zones; return the medians of one time, and whether parts are the whole.

    The first time is not counted: imports, and pages that the system has not read yet.
    """
    rows = _chosen(path, edits)
    timed: Timed = {"cpu_s": [], "wall_s": []}
    parts: dict[str, Any] = {}
    for row in [rows[0], *rows]:
        wall_s, cpu_s = time.perf_counter(), time.process_time()
        found = WAYS[way](path, row)
        timed["cpu_s"].append(time.process_time() - cpu_s)
        timed["wall_s"].append(time.perf_counter() - wall_s)
        if way == "edit":
            parts |= {zone["id"]: zone for zone in found["zones"]}
    figures = {name: statistics.median(times[1:]) for name, times in timed.items()}
    figures["worst_wall_s"] = max(timed["wall_s"][1:])
    if way == "edit":
        whole = {zone["id"]: zone for zone in state(path, as_of=DAY)["zones"]}
        figures["identical"] = float(all(whole[of] == zone for of, zone in parts.items()))
        figures["zones_computed"] = len(parts) / edits
    return figures


if __name__ == "__main__":
    way, file, count = sys.argv[1], Path(sys.argv[2]), int(sys.argv[3])
    if way == "make":
        make(file, count)
        print("{}")
    else:
        print(json.dumps(run(way, file, count)))
