"""What the worker process finds in a foreign file, whichever its format."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from shapely.errors import ShapelyError
from shapely.geometry.base import BaseGeometry

from turfmap.foundations.errors import input_fault
from turfmap.store.foreign.limits import MAX_LAYERS_NAMED

# Whatever a parser of hostile numbers and lists may raise on one bad record.
UNREADABLE = (
    ArithmeticError,
    AttributeError,
    LookupError,
    RecursionError,
    ShapelyError,
    TypeError,
    ValueError,
)


class Stated(StrEnum):
    """How far the file says what its coordinates mean."""

    BY_FILE = "by the file"
    BY_STANDARD = "by the standard of its format"
    BY_NUMBERS = "by nothing but numbers that look like degrees"
    BY_NOTHING = "by nothing"


@dataclass(frozen=True)
class Found:
    """One record as found: its name to a person, its values, its shape or what is wrong."""

    name: str
    row: dict[str, Any] = field(default_factory=dict)
    geometry: BaseGeometry | None = None
    problem: str = ""
    mend: str = ""


@dataclass
class Contents:
    """A foreign file, opened.

    Attributes
    ----------
    records
        The records, read one by one; the file is closed at the end.
    crs
        The coordinate reference system as WKT or authority code; empty if not known.
    stated
        Who says so.
    may_close
        Whether a line that comes back to its start stands for an area (GPX, DXF).
    notes
        Plain sentences; a reader may add to them until its last record.
    """

    records: Iterator[Found]
    crs: str = ""
    stated: Stated = Stated.BY_NOTHING
    may_close: bool = False
    notes: list[str] = field(default_factory=list)


def record_name(number: int, layer: str = "") -> str:
    """Return the words for a record, counted from 1."""
    return f"record {number} of layer {layer}" if layer else f"record {number}"


def chosen_layer(layers: Iterable[str], layer: str | None) -> str:
    """Return the one layer to read.

    Raises
    ------
    InputFaultsError
        If `layer` is not among them, or none was asked for and there are several.
    """
    names = list(layers)
    if layer in names:
        return layer
    if layer is None and len(names) == 1:
        return names[0]
    if not names:
        raise input_fault("it has no layer with shapes", "export it again with its shapes")
    problem = f"it holds {len(names)} layers" if layer is None else f"it has no layer {layer!r}"
    raise input_fault(problem, f"choose one with --layer: {listed(names)}")


def listed(names: list[str]) -> str:
    """Return names as one phrase, cut where it would be too long to read."""
    more = len(names) - MAX_LAYERS_NAMED
    return ", ".join(names[:MAX_LAYERS_NAMED]) + (f" and {more} more" if more > 0 else "")
