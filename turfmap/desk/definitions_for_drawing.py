"""What the editor needs for its forms: layers, their columns and choices, states, the place."""

from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import Any

from turfmap.desk.map import title_of
from turfmap.foundations.definitions import Column, Layer, Row, map_layer, table, tables
from turfmap.foundations.errors import input_fault
from turfmap.store import geopackage
from turfmap.store.near_rows import extent

Plain = dict[str, Any]

# Layers in the order in which people draw, and which of their columns are asked for first.
ASKED_FIRST = {
    "zone": ("name", "kind", "species", "shade", "irrigated"),
    "water": ("name", "kind", "edge_known_by", "position_margin_m", "width_m"),
    "sensitive_site": ("name", "kind", "edge_known_by", "position_margin_m"),
    "obstacle": ("name", "kind", "width_m"),
    "canopy": ("name", "height_m", "deciduous"),
    "gate": ("name", "width_m"),
    "property": ("name", "client", "state", "water_surveyed_on"),
}
# Layers of any geometry are drawn as one of these, the likeliest first.
DRAWN_AS = {"area": "polygon", "point": "point", "any": "any"}


def definitions(path: Path, *, as_of: date | None) -> Plain:
    """Return what a place may hold, for the forms of the editor.

    Parameters
    ----------
    path
        The place.
    as_of
        The day that its state is asked for first; None leaves that to the page.

    Returns
    -------
    dict
        ``layers`` by name, in the order of drawing: title, plain, geometry, columns with choices
        in words, tag_first; ``states``: id, title, colour, pattern, code, plain; ``place``: id,
        title, bounds [deg], as_of.

    Raises
    ------
    InputFaultsError
        If the file is not there or cannot be read.
    """
    return {
        "layers": {name: _layer(map_layer(name)) for name in ASKED_FIRST},
        "states": _states(),
        "place": _place(path) | {"as_of": as_of.isoformat() if as_of else None},
    }


def _layer(layer: Layer) -> Plain:
    if layer.geometry is None:
        raise input_fault(f"{layer.name} is not drawn", "choose another layer")
    return {
        "title": layer.title,
        "plain": layer.plain,
        "geometry": DRAWN_AS[layer.geometry],
        "columns": [_column(column) for column in layer.columns.values()],
        "tag_first": list(ASKED_FIRST[layer.name]),
    }


def _column(column: Column) -> Plain:
    return {
        "name": column.name,
        "title": column.name.removesuffix(f"_{column.unit}").replace("_", " "),
        "type": column.type,
        "unit": column.unit,
        "required": column.required,
        "measured": column.measured,
        "plain": column.plain,
        "choices": _choices(column),
        "minimum": column.minimum,
        "maximum": column.maximum,
    }


def _choices(column: Column) -> list[Plain] | None:
    """Return a column's values in words; None where any value will do."""
    if not column.one_of:
        return None
    rows = _described(column)
    return [
        {
            "value": value,
            "title": rows.get(value, {}).get("words") or value.replace("_", " "),
            "plain": rows.get(value, {}).get("plain") or "",
        }
        for value in column.one_of
    ]


def _described(column: Column) -> dict[Any, Row]:
    """Return the rows of the table that lists a column's values with their words."""
    for found in tables().values():
        first = next(iter(found.columns))
        if "words" in found.columns and tuple(row[first] for row in found.rows) == column.one_of:
            return found.by(first)
    return {}


def _states() -> list[Plain]:
    return [
        {
            "id": row["state"],
            "title": row["words"],
            "colour": row["colour"],
            "pattern": row["pattern"],
            "code": row["state"][:2].upper(),
            "plain": row["plain"],
        }
        for row in sorted(table("state").rows, key=lambda row: int(row["order"]))
    ]


def identity_of(path: Path) -> str:
    """Return the name under which a browser keeps what is not saved yet of a place."""
    return sha256(str(path.resolve()).encode()).hexdigest()[:16]


def _place(path: Path) -> Plain:
    with geopackage.reading(path) as connection:
        properties = geopackage.read_rows(connection, map_layer("property"), file=str(path))
        bounds = extent(connection, tuple(ASKED_FIRST))
    return {
        "id": identity_of(path),
        "title": title_of(path, properties["name"]),
        "bounds": bounds,
    }
