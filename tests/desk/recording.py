"""A place with two lawns, one beside a pond, and a spraying of both, for tests of the record."""

from pathlib import Path
from typing import Any

from tests.desk.test_bring_in import box, geojson
from turfmap.desk.bring_in import bring_in
from turfmap.desk.import_batch import Source
from turfmap.desk.new import new
from turfmap.store import geopackage

LAWN = {"kind": "turf", "species": "bermuda", "irrigated": "yes"}
SAID: dict[str, Any] = {
    "property": "Alder",
    "zones": ["Front", "Back"],
    "task": "autumn_pre_emergent",
    "date": "2026-09-20",
    "start": "08:10",
    "end": "08:55",
    "product": "Barrier",
    "amount": "3.5 gal",
    "by": "Somebody",
    "licence": "L-1",
    "wind": "6 mph NW",
    "air": "71F",
}


def make_place(folder: Path) -> Path:
    """Make the place in a folder."""
    path = folder / "place.gpkg"
    new(path)
    about = {"name": "Alder", "client": "Client 7", "address": "1 Lane", "state": "GA"}
    bring_in(path, geojson(folder / "lot.geojson", (box(0, 0, 1e-3), about)), layer_name="property")
    lawns = [
        (box(0, 0), {"name": "Front", **LAWN}),
        (box(5e-4, 5e-4), {"name": "Back", **LAWN}),
        (box(5e-4, 0), {"name": "Wood", "kind": "woods"}),
    ]
    bring_in(path, geojson(folder / "lawns.geojson", *lawns), layer_name="zone")
    pond = (box(-1e-4, 0, 1.5e-4), {"name": "Pond", "kind": "pond"})
    bring_in(path, geojson(folder / "pond.geojson", pond), layer_name="water")
    table(path, "product", "name,active_ingredients,registration_number", "Barrier,prodiamine,0-1")
    table(path, "client_answer", "property,question,answer", "Alder,overseeding,none")
    return path


def table(path: Path, layer: str, *lines: str) -> None:
    file = path.parent / f"{layer}.csv"
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    bring_in(path, Source(file), layer_name=layer)


def rows(path: Path) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = geopackage.read_layer(path, "visit").to_dict("records")
    return found
