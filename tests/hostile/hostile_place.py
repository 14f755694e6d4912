"""A place whose every free text is hostile, written past the checks as another program would."""

from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from tests.hostile.hostile_texts import HOSTILE_TEXTS
from turfmap.desk.bring_in import bring_in
from turfmap.desk.import_batch import Source
from turfmap.desk.new import new
from turfmap.foundations.definitions import Layer, Row, map_layer
from turfmap.store import geopackage

WEST, SOUTH, STEP = -84.0, 33.0, 2e-3
# Text that has a form of its own: what is hostile there is no such text, and is left out.
FORMED = {
    "state": "GA",
    "contact": None,
    "active_ingredients": "prodiamine",
    "concentrations": "65 %",
    "rate": "1 lb/acre",
    "rate_low": None,
    "rate_high": None,
    "single_max": None,
    "annual_max": None,
    "carrier_low": None,
    "carrier_high": None,
    "answer": "none",
    "start_time": "08:00",
    "end_time": "09:00",
    "corrects": None,
    "reductions": None,
    "category": "pond",
    "no_go": None,
    "pack": "50 lb",
}
CHOSEN = {"kind": "turf", "species": "bermuda", "question": "overseeding", "task": "aeration"}
DAY = date(2026, 8, 20)


def texts() -> dict[str, str]:
    """Return what is put into every text column, each a property's."""
    return dict(HOSTILE_TEXTS)


def hostile_place(folder: Path) -> Path:
    """Make the place: a property a text, and each layer's rows on it."""
    path = folder / "place.gpkg"
    new(path)
    with geopackage.editing(path) as connection:
        for layer, rows, shapes in _contents():
            geopackage.append_rows(connection, layer, rows, shapes)
    prices = folder / "prices.csv"
    prices.write_text("task,per,price\naeration,1000_sq_ft,10\nlime,1000_sq_ft,9\n", "utf-8")
    bring_in(path, Source(prices), layer_name="rate_card")
    prices.unlink()
    return path


def _contents() -> Iterator[tuple[Layer, list[Row], Any]]:
    squares = {
        "property": ("turf", 0.0, 1e-3),
        "zone": ("turf", 1e-4, 3e-4),
        "obstacle": ("building", 2e-4, 5e-5),
        "canopy": ("", 3e-4, 5e-5),
        "water": ("pond", 6e-4, 1e-4),
        "sensitive_site": ("neighbour_request", 8e-4, 5e-5),
    }
    for name, (kind, at, side) in squares.items():
        layer = map_layer(name)
        rows = [_row(layer, text, number, kind) for number, text in enumerate(texts().values())]
        shapes = [_square(number, at, side) for number in range(len(rows))]
        if name == "zone":  # and a bed each, whose name is no better
            bed = {"kind": "bed", "species": None}
            rows += [{**row, "name": f"{row['name']} bed", **bed} for row in rows]
            shapes += [_square(number, 5e-4, 5e-5) for number in range(len(shapes))]
        yield layer, rows, np.array(shapes, dtype=object)
    gate = map_layer("gate")
    rows = [_row(gate, text, number, "") for number, text in enumerate(texts().values())]
    points = [_square(number, 0.0, 1e-4).centroid for number in range(len(rows))]
    yield gate, rows, np.array(points, dtype=object)
    for name in ("client_answer", "product", "product_rate", "product_setback", "visit"):
        layer = map_layer(name)
        yield (
            layer,
            [_row(layer, text, number, "") for number, text in enumerate(texts().values())],
            None,
        )


def _row(layer: Layer, text: str, number: int, kind: str) -> Row:
    return {name: _value(column, text, number, kind) for name, column in layer.columns.items()}


def _value(column: Any, text: str, number: int, kind: str) -> Any:
    wanted: Mapping[str, Any] = {
        **FORMED,
        "record": f"{number:032x}",
        "shade": None,
        "bed_type": None,
        "kind": kind or None,
    }
    if column.type == "text" and not column.one_of:
        return wanted.get(column.name, text)
    if column.name in wanted:
        return wanted[column.name]
    if column.one_of:
        choice = CHOSEN.get(column.name, column.one_of[0])
        return choice if choice in column.one_of else column.one_of[0]
    if column.type == "date" and (column.required or column.name.endswith("_on")):
        return DAY
    return 1.0 if column.type in {"number", "whole"} and column.required else None


def _square(number: int, at: float, side: float) -> shapely.Polygon:
    x, y = WEST + STEP * (number % 8) + at, SOUTH + STEP * (number // 8) + at
    return shapely.box(x, y, x + side, y + side)
