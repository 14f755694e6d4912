"""What turfmap knows: the map's layers and the reference tables, as plain results."""

from dataclasses import asdict
from typing import Any

from turfmap.foundations.definitions import Layer, Table, map_layers, tables
from turfmap.foundations.errors import input_fault
from turfmap.views import layers_page as layers_view


def layers() -> dict[str, list[dict[str, Any]]]:
    """Return every map layer and reference table: name, title, what it is, how much of it."""
    return {
        "map": [_summary(layer) for layer in map_layers().values()],
        "tables": [_summary(table) | {"rows": len(table.rows)} for table in tables().values()],
    }


def _summary(layer: Layer) -> dict[str, Any]:
    return {
        "name": layer.name,
        "title": layer.title,
        "geometry": layer.geometry,
        "plain": layer.plain,
    }


def one_layer(name: str) -> dict[str, Any]:
    """Return one layer or table: its columns and, for a table, its rows with their sources.

    Raises
    ------
    InputFaultsError
        If there is no such layer or table.
    """
    known: dict[str, Layer] = {**tables(), **map_layers()}
    if name not in known:
        raise input_fault(
            f"there is no layer or table {name!r}", f"choose one of {', '.join(sorted(known))}"
        )
    layer = known[name]
    rows = list(layer.rows) if isinstance(layer, Table) else []
    columns = [asdict(column) for column in layer.columns.values()]
    return _summary(layer) | {"columns": columns, "rows": rows}


def layers_page() -> str:
    """Return the page ``layers/README.md``, made from the declarations."""
    return layers_view.layers_page(map_layers(), tables())
