"""One record as a line of JSON between the worker process and us: values that JSON holds, WKB."""

import json
import math
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

import shapely

from turfmap.store.foreign.limits import (
    MAX_COLUMNS,
    MAX_RECORD_VERTICES,
    MAX_VALUE_CHARACTERS,
)
from turfmap.store.foreign.records import UNREADABLE, Found

LARGEST_WHOLE = 2**63 - 1  # what a GeoPackage can hold


@dataclass
class Tally:
    """What has been read so far."""

    records: int = 0
    vertices: int = 0
    heights: int = 0
    binary: int = 0


def encoded(found: Found, tally: Tally) -> dict[str, Any]:
    """Return the record as JSON holds it, and count it.

    A value or shape that cannot be kept becomes the record's problem; the shape is 2D.
    """
    tally.records += 1
    line: dict[str, Any] = {"record": found.name, "row": {}, "wkb": ""}
    problem, mend = found.problem, found.mend
    try:
        line["row"] = _plain_row(found.row, tally)
        line["wkb"] = _wkb(found, tally)
    except UNREADABLE as error:
        problem, mend = problem or str(error), mend or "correct it"
    return line | {"problem": problem, "mend": mend}


def _wkb(found: Found, tally: Tally) -> str:
    geometry = found.geometry
    if geometry is None or geometry.is_empty:
        return ""
    vertices = int(shapely.get_num_coordinates(geometry))
    tally.vertices += vertices
    if vertices > MAX_RECORD_VERTICES:
        raise ValueError(f"its shape has {vertices:,} corners, over {MAX_RECORD_VERTICES:,}")
    # M values are known to shapely from 2.1 with GEOS 3.12 on.
    if geometry.has_z or getattr(geometry, "has_m", False):
        tally.heights += 1
    return str(shapely.to_wkb(geometry, hex=True, output_dimension=2))


def _plain_row(row: dict[str, Any], tally: Tally) -> dict[str, Any]:
    if len(row) > MAX_COLUMNS:
        raise ValueError(f"it has {len(row)} columns, over {MAX_COLUMNS}")
    return {_text(str(name), "a column's name"): _plain(name, row[name], tally) for name in row}


def _plain(name: str, value: Any, tally: Tally) -> Any:
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, bytes | bytearray | memoryview):
        tally.binary += 1
        return None
    if isinstance(value, int):
        return value if abs(value) <= LARGEST_WHOLE else str(value)
    if isinstance(value, float):
        return _plain_float(value)
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    text = value if isinstance(value, str) else json.dumps(value, default=str, ensure_ascii=False)
    return _text(text, f"the value of {str(name)[:40]!r}")


def _plain_float(value: float) -> float | str | None:
    """Return None for NaN, as some formats tell a missing number; infinity is not missing."""
    if math.isnan(value):
        return None
    return value if math.isfinite(value) else str(value)


def _text(text: str, what: str) -> str:
    if len(text) > MAX_VALUE_CHARACTERS:
        raise ValueError(f"{what} is {len(text):,} characters long")
    if "\x00" in text or not _can_be_written(text):
        raise ValueError(f"{what} holds a character that is not text")
    return text


def _can_be_written(text: str) -> bool:
    try:
        text.encode()
    except UnicodeEncodeError:  # half of a surrogate pair
        return False
    return True
