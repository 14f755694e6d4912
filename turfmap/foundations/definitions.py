"""The only reader of ``layers/``: what each map layer and reference table holds.

A ``.toml`` file says what the columns mean. With a ``.csv`` beside it, it is a reference table
shipped with turfmap; without, a map layer whose rows live in the user's GeoPackage.
"""

import csv
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from turfmap.foundations import dates

Value = str | float | int | bool | date | None
Row = dict[str, Any]

COLUMN_FACTS = {"type", "unit", "required", "allowed", "one_of", "minimum", "maximum", "plain"}
COLUMN_FACTS |= {"measured"}
COLUMN_TYPES = {"text", "number", "whole", "yes_no", "date", "time", "month_day"}
LAYER_FACTS = {"title", "plain", "geometry", "key", "columns"}
GEOMETRIES = {"area", "point", "any"}


class DefinitionError(Exception):
    """Raised when a file under ``layers/`` breaks its own rules: our fault, never the user's."""


@dataclass(frozen=True)
class Column:
    """What is declared of one column.

    Attributes
    ----------
    type
        One of text, number, whole, yes_no, date, time, month_day.
    unit
        The unit of a number ("1" for a plain count or ratio).
    required
        Whether a row without it is a fault.
    one_of
        The allowed values, in order; empty if any value will do.
    minimum, maximum
        The range of a number [`unit`].
    plain
        What it means, in plain English.
    measured
        Whether turfmap measures it, so that no form asks for it.
    """

    name: str
    type: str
    unit: str = ""
    required: bool = False
    one_of: tuple[str, ...] = ()
    minimum: float | None = None
    maximum: float | None = None
    plain: str = ""
    measured: bool = False


@dataclass(frozen=True)
class Layer:
    """A map layer, or a table of the GeoPackage without geometry (`geometry` is None)."""

    name: str
    title: str
    plain: str
    geometry: str | None
    key: tuple[str, ...]
    columns: Mapping[str, Column]


@dataclass(frozen=True)
class Table(Layer):
    """A reference table: the declaration and its rows, each with its source."""

    rows: tuple[Row, ...] = field(default=())

    def by(self, column: str) -> dict[Any, Row]:
        """Return the rows keyed by a column whose values are unique."""
        return {row[column]: row for row in self.rows}

    def overridden(self, own_rows: Iterable[Row]) -> "Table":
        """Return the table with the user's own rows put over the shipped ones of the same key."""

        def key(row: Row) -> tuple[Any, ...]:
            return tuple(row.get(name) for name in self.key)

        merged = {key(row): row for row in self.rows} | {key(row): row for row in own_rows}
        return Table(**{**self.__dict__, "rows": tuple(merged.values())})


def map_layer(name: str) -> Layer:
    """Return the declaration of a layer of the GeoPackage (``layers/map/NAME.toml``)."""
    return map_layers()[name]


@lru_cache(maxsize=1)
def map_layers() -> dict[str, Layer]:
    """Return every layer of the GeoPackage by name, those with geometry first."""
    found = [_layer(path) for path in _folder("map") if path.name.endswith(".toml")]
    found.sort(key=lambda layer: (layer.geometry is None, layer.name))
    return {layer.name: layer for layer in found}


def table(name: str) -> Table:
    """Return a reference table (``layers/tables/NAME.toml`` and ``.csv``)."""
    return _tables()[name]


def tables() -> dict[str, Table]:
    """Return every reference table by name."""
    return dict(_tables())


@lru_cache(maxsize=1)
def _tables() -> dict[str, Table]:
    paths = [path for path in _folder("tables") if path.name.endswith(".toml")]
    return {path.name[:-5]: _table(path) for path in paths}


def _root() -> Traversable:
    try:
        return files("turfmap.layers")
    except ModuleNotFoundError:  # run from a checkout that is not installed
        checkout = Path(__file__).parents[2]
        if (checkout / "pyproject.toml").is_file():
            return checkout / "layers"
        raise


def _folder(name: str) -> list[Traversable]:
    return sorted((_root() / name).iterdir(), key=lambda path: path.name)


def _declared(path: Traversable) -> dict[str, Any]:
    declared = tomllib.loads(path.read_text(encoding="utf-8"))
    unknown = declared.keys() - LAYER_FACTS
    if unknown:
        raise DefinitionError(f"{path.name}: unknown fact {sorted(unknown)}")
    if declared.get("geometry", "any") not in GEOMETRIES:
        raise DefinitionError(f"{path.name}: geometry is one of {sorted(GEOMETRIES)}")
    columns = {name: _column(path.name, name, facts) for name, facts in declared["columns"].items()}
    missing = set(declared.get("key", ())) - columns.keys()
    if missing:
        raise DefinitionError(f"{path.name}: key names no column {sorted(missing)}")
    return {
        "name": path.name.removesuffix(".toml"),
        "title": declared["title"],
        "plain": declared["plain"],
        "geometry": declared.get("geometry"),
        "key": tuple(declared.get("key", ())),
        "columns": columns,
    }


def _column(file: str, name: str, facts: dict[str, Any]) -> Column:
    where = f"{file}, column {name}"
    unknown = facts.keys() - COLUMN_FACTS
    if unknown:
        raise DefinitionError(f"{where}: unknown fact {sorted(unknown)}")
    if facts.get("type") not in COLUMN_TYPES:
        raise DefinitionError(f"{where}: type is one of {sorted(COLUMN_TYPES)}")
    if facts["type"] in {"number", "whole"} and not facts.get("unit"):
        raise DefinitionError(f"{where}: a number needs its unit")
    one_of = tuple(facts.get("one_of", ()))
    if "allowed" in facts:
        one_of = tuple(_first_column(facts["allowed"]))
    rest = {key: facts[key] for key in facts.keys() - {"allowed", "one_of"}}
    return Column(name=name, one_of=one_of, **rest)


def _first_column(table_name: str) -> list[str]:
    text = (_root() / "tables" / f"{table_name}.csv").read_text(encoding="utf-8")
    found = [row[0] for row in csv.reader(text.splitlines()) if row][1:]
    return list(dict.fromkeys(found))


def _layer(path: Traversable) -> Layer:
    return Layer(**_declared(path))


def _table(path: Traversable) -> Table:
    declared = _declared(path)
    columns: Mapping[str, Column] = declared["columns"]
    beside = _root() / "tables" / f"{declared['name']}.csv"
    reader = csv.DictReader(beside.read_text(encoding="utf-8").splitlines(), strict=True)
    if list(reader.fieldnames or ()) != list(columns):
        raise DefinitionError(f"{beside.name}: its heading must be {','.join(columns)}")
    rows = []
    for line, texts in enumerate(reader, start=2):
        try:
            rows.append({name: _cell(texts[name], columns[name]) for name in columns})
        except (TypeError, ValueError) as error:
            raise DefinitionError(f"{beside.name}, line {line}: {error}") from None
    return Table(**declared, rows=tuple(rows))


def _cell(text: str | None, column: Column) -> Value:
    if text is None:
        raise ValueError("the line is too short")
    if not text and column.required:
        raise ValueError(f"{column.name} is empty")
    return parsed(text, column)


def parsed(text: str, column: Column) -> Value:
    """Read a value of a column from text; empty text is None.

    Raises
    ------
    ValueError
        With what is wrong in words, if the text does not fit the column's declaration.
    """
    stripped = text.strip()
    if not stripped:
        return None
    value: Value = _READERS[column.type](stripped)
    if column.one_of and value not in column.one_of:
        raise ValueError(f"{column.name} is {stripped!r}, not one of {', '.join(column.one_of)}")
    if isinstance(value, float | int) and not isinstance(value, bool):
        _check_range(float(value), column)
    return value


def _check_range(value: float, column: Column) -> None:
    if column.type == "whole" and not -(2**63) <= value < 2**63:
        raise ValueError(f"{column.name} is {value:g}, which is more than 64 bits hold")
    low = float("-inf") if column.minimum is None else column.minimum
    high = float("inf") if column.maximum is None else column.maximum
    if not low <= value <= high or value in {float("inf"), float("-inf")}:
        unit = "" if column.unit == "1" else f" {column.unit}"
        bounds = " and ".join(f"{bound:g}" for bound in (low, high))
        raise ValueError(f"{column.name} is {value:g}{unit}, not between {bounds}{unit}")


def _whole(text: str) -> int:
    number = float(text)
    if not number.is_integer():
        raise ValueError(f"{text!r} is not a whole number")
    return int(number)


def _yes_no(text: str) -> bool:
    words = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}
    try:
        return words[text.lower()]
    except KeyError:
        raise ValueError(f"{text!r} is neither yes nor no") from None


def _date(text: str) -> date:
    # A spreadsheet or a database writes a day as its midnight.
    return date.fromisoformat(text.removesuffix("T00:00:00").removesuffix(" 00:00:00"))


def _time(text: str) -> str:
    return datetime.fromisoformat(text).isoformat()


def _month_day(text: str) -> str:
    dates.month_day(text)
    return text


_READERS: dict[str, Any] = {
    "text": str,
    "number": float,
    "whole": _whole,
    "yes_no": _yes_no,
    "date": _date,
    "time": _time,
    "month_day": _month_day,
}
