"""What the shell offers while a command is typed: names of the place, and of what turfmap knows."""

from collections.abc import Iterable
from pathlib import Path

from turfmap.foundations.definitions import map_layer, map_layers, table, tables
from turfmap.store.offered_names import offered_names


def properties(place: Path, starts: str) -> list[str]:
    """Return names of properties of a place that begin so."""
    return offered_names(place, map_layer("property"), "name", starts=starts, where={})


def zones(place: Path, starts: str, *, of: str | None) -> list[str]:
    """Return names of zones that begin so, of one property or of all."""
    where = {} if of is None else {"property": of}
    return offered_names(place, map_layer("zone"), "name", starts=starts, where=where)


def products(place: Path, starts: str) -> list[str]:
    """Return names of a place's products, and then of active ingredients, that begin so."""
    own = offered_names(place, map_layer("product"), "name", starts=starts, where={})
    return own + rows("active_ingredient", starts)


def rows(table_name: str, starts: str) -> list[str]:
    """Return what stands in the first column of a reference table, where it begins so."""
    found = table(table_name)
    first = next(iter(found.columns))
    return _beginning((row[first] for row in found.rows), starts)


def layers(starts: str) -> list[str]:
    """Return map layers that begin so."""
    return _beginning(map_layers(), starts)


def layers_and_tables(starts: str) -> list[str]:
    """Return map layers and reference tables that begin so."""
    return _beginning([*map_layers(), *tables()], starts)


def _beginning(names: Iterable[object], starts: str) -> list[str]:
    return list(dict.fromkeys(str(name) for name in names if str(name).startswith(starts)))
