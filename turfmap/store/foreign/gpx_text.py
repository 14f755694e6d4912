"""GPX 1.0 and 1.1: waypoints, routes and tracks, each a layer.

Read by ourselves because the driver at hand takes ``lat="abc"`` for latitude 0.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element

import shapely
from shapely.geometry.base import BaseGeometry

from turfmap.foundations.errors import input_fault
from turfmap.store.foreign.records import (
    UNREADABLE,
    Contents,
    Found,
    Stated,
    chosen_layer,
    record_name,
)
from turfmap.store.foreign.xml_text import read_xml

LAYERS = {"waypoints": "wpt", "routes": "rte", "tracks": "trk"}
COLUMNS = ("name", "cmt", "desc", "src", "type", "sym", "number", "time", "ele")


def read(path: Path, layer: str | None) -> Contents:
    """Open a GPX file; empty layers are left out, all others are read unless one is chosen."""
    root = read_xml(path, "gpx")
    found = {name: root.findall(tag) for name, tag in LAYERS.items()}
    found = {name: elements for name, elements in found.items() if elements}
    if not found:
        raise input_fault("it holds no waypoints, routes or tracks", "record the place again")
    if layer is not None:
        found = {chosen_layer(found, layer): found[layer]}
    return Contents(_records(found), "OGC:CRS84", Stated.BY_STANDARD, may_close=True)


def _records(found: dict[str, list[Element]]) -> Iterator[Found]:
    for layer, elements in found.items():
        for number, element in enumerate(elements, start=1):
            name = record_name(number, layer)
            row: dict[str, Any] = {
                tag: text.strip() for tag in COLUMNS if (text := element.findtext(tag))
            }
            try:
                yield Found(name, row, _SHAPES[layer](element))
            except UNREADABLE as error:
                problem = f"its positions cannot be read ({error})"
                yield Found(name, row, None, problem, "record it again")


def _waypoint(element: Element) -> BaseGeometry:
    return shapely.Point(_position(element))


def _route(element: Element) -> BaseGeometry | None:
    return _line(element.findall("rtept"))


def _track(element: Element) -> BaseGeometry | None:
    """Return the track's segments; one with a single position is a standstill, not a line."""
    lines = [_line(segment.findall("trkpt")) for segment in element.findall("trkseg")]
    drawn = [line for line in lines if line is not None]
    return shapely.MultiLineString(drawn) if len(drawn) > 1 else next(iter(drawn), None)


def _line(points: list[Element]) -> shapely.LineString | None:
    positions = [_position(point) for point in points]
    return shapely.LineString(positions) if len(positions) > 1 else None


def _position(element: Element) -> tuple[float, float]:
    try:
        return float(element.attrib["lon"]), float(element.attrib["lat"])
    except (KeyError, ValueError):
        told = f"lat={element.get('lat')!r}, lon={element.get('lon')!r}"
        raise ValueError(f"{told[:80]} is no position") from None


_SHAPES = {"waypoints": _waypoint, "routes": _route, "tracks": _track}
