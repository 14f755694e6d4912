"""CSV from strangers: with WKT, with longitude and latitude, or without any shape."""

import csv
import io
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import shapely
from shapely.geometry.base import BaseGeometry

from turfmap.foundations.errors import input_fault
from turfmap.store.foreign.limits import MAX_COLUMNS, MAX_TEXT_BYTES
from turfmap.store.foreign.records import UNREADABLE, Contents, Found, Stated

WKT_NAMES = ("wkt", "geometry", "geom")
POSITION_NAMES = (("lon", "lat"), ("longitude", "latitude"), ("lng", "lat"), ("x", "y"))
DELIMITERS = ",;\t|"

Shaper = Callable[[dict[str, str]], BaseGeometry | None]


def read(path: Path, _layer: str | None) -> Contents:
    """Open a CSV file with a heading; the delimiter is the one its heading has most of."""
    text = _text(path)
    csv.field_size_limit(MAX_TEXT_BYTES)  # a long WKT is a shape; values are judged later
    delimiter = max(DELIMITERS, key=text.partition("\n")[0].count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        heading = [name.strip() for name in next(reader, [])]
    except csv.Error as error:
        raise _damaged(error, 1) from error
    _check_heading(heading)
    shaper, shape_names, stated = _shaper(heading)
    crs = "OGC:CRS84" if stated in {Stated.BY_STANDARD, Stated.BY_NUMBERS} else ""
    return Contents(_records(reader, heading, shaper, shape_names), crs, stated)


def _text(path: Path) -> str:
    raw = path.read_bytes()
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise input_fault(
            "its text is not UTF-8", 'save it as "CSV UTF-8"', record=f"line {line}"
        ) from error


def _damaged(error: csv.Error, line: int) -> Exception:
    return input_fault(
        f"the table is damaged ({error})", "check the quotes there", record=f"line {line}"
    )


def _check_heading(heading: list[str]) -> None:
    if not any(heading):
        raise input_fault("it has no heading", "name the columns in its first line")
    if len(heading) > MAX_COLUMNS:
        raise input_fault(f"it has {len(heading)} columns", f"give at most {MAX_COLUMNS}")
    twice = sorted({name for name in heading if heading.count(name) > 1})
    if twice:
        raise input_fault(
            f"columns of the same name ({', '.join(map(repr, twice))[:80]})",
            "give each its own name",
            record="line 1",
        )


def _shaper(heading: list[str]) -> tuple[Shaper, set[str], Stated]:
    """Return how a row's shape is made, from which columns, and what says their meaning."""
    by_lower = {name.lower(): name for name in heading}
    for name in WKT_NAMES:
        if name in by_lower:
            return _from_wkt(by_lower[name]), {by_lower[name]}, Stated.BY_NUMBERS
    for x, y in POSITION_NAMES:
        if x in by_lower and y in by_lower:
            names = by_lower[x], by_lower[y]
            stated = Stated.BY_NUMBERS if x == "x" else Stated.BY_STANDARD
            return _from_position(*names), set(names), stated
    return (lambda _row: None), set(), Stated.BY_NOTHING


def _from_wkt(column: str) -> Shaper:
    def shape(row: dict[str, str]) -> BaseGeometry | None:
        text = row[column].strip()
        return shapely.from_wkt(text) if text else None

    return shape


def _from_position(x: str, y: str) -> Shaper:
    def shape(row: dict[str, str]) -> BaseGeometry | None:
        texts = row[x].strip(), row[y].strip()
        return shapely.Point(*map(float, texts)) if any(texts) else None

    return shape


def _records(
    reader: Any, heading: list[str], shaper: Shaper, shape_names: set[str]
) -> Iterator[Found]:
    try:
        for texts in reader:
            if any(text.strip() for text in texts):
                yield _record(texts, heading, f"line {reader.line_num}", (shaper, shape_names))
    except csv.Error as error:
        raise _damaged(error, reader.line_num) from error


def _record(
    texts: list[str], heading: list[str], name: str, shaping: tuple[Shaper, set[str]]
) -> Found:
    if len(texts) != len(heading):
        problem = f"it has {len(texts)} values for {len(heading)} columns"
        return Found(name, {}, None, problem, "quote values that hold the delimiter")
    shaper, shape_names = shaping
    row = dict(zip(heading, texts, strict=True))
    kept = {key: text or None for key, text in row.items() if key and key not in shape_names}
    try:
        return Found(name, kept, shaper(row))
    except UNREADABLE as error:
        return Found(name, kept, None, f"its shape cannot be read ({error})", "correct it")
