"""KML: placemarks of every folder, with their extended data (OGC 07-147r2, KML 2.2)."""

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

FOLDERS = {"Document", "Folder"}
LINES = {"LineString", "Track"}
COLLECTIONS = {"MultiGeometry", "MultiTrack"}


def read(path: Path, layer: str | None) -> Contents:
    """Open a KML file; each folder with placemarks is a layer, and all are read unless one is."""
    folders = _folders(read_xml(path, "kml"))
    if not folders:
        raise input_fault("it holds no placemarks", "export it again with its shapes")
    if layer is not None:
        folders = {chosen_layer(folders, layer): folders[layer]}
    return Contents(_records(folders), crs="OGC:CRS84", stated=Stated.BY_STANDARD)


def _folders(root: Element) -> dict[str, list[Element]]:
    """Return the placemarks by the name of the nearest folder around them."""
    folders: dict[str, list[Element]] = {}
    waiting = [(root, "unnamed")]
    while waiting:
        element, around = waiting.pop()
        name = (element.findtext("name") or "").strip() or around
        for child in element:
            if child.tag == "Placemark":
                folders.setdefault(name, []).append(child)
        inner = [child for child in element if child.tag in FOLDERS]
        waiting.extend((child, name) for child in reversed(inner))
    return folders


def _records(folders: dict[str, list[Element]]) -> Iterator[Found]:
    several = len(folders) > 1
    for folder, placemarks in folders.items():
        for number, placemark in enumerate(placemarks, start=1):
            yield _record(placemark, record_name(number, folder if several else ""))


def _record(placemark: Element, name: str) -> Found:
    row = _row(placemark)
    try:
        shapes = [_shape(child) for child in placemark if _is_shape(child)]
    except UNREADABLE as error:
        return Found(name, row, None, f"its shape cannot be read ({error})", "draw it again")
    if len(shapes) > 1:
        return Found(name, row, shapely.GeometryCollection(shapes))
    return Found(name, row, shapes[0] if shapes else None)


def _row(placemark: Element) -> dict[str, Any]:
    """Return name, description and extended data: the rest of KML is about how it looks."""
    row: dict[str, Any] = {
        tag: text.strip() for tag in ("name", "description") if (text := placemark.findtext(tag))
    }
    for data in placemark.iterfind("ExtendedData/Data"):
        row[data.get("name", "")] = (data.findtext("value") or "").strip() or None
    for data in placemark.iterfind("ExtendedData/SchemaData/SimpleData"):
        row[data.get("name", "")] = (data.text or "").strip() or None
    return row


def _is_shape(element: Element) -> bool:
    return element.tag in {"Point", "LinearRing", "Polygon"} | LINES | COLLECTIONS


def _shape(element: Element) -> BaseGeometry:
    if element.tag in COLLECTIONS:
        parts = [_shape(child) for child in element if _is_shape(child)]
        return shapely.GeometryCollection(parts)
    if element.tag == "Polygon":
        outer = _ring(element.find("outerBoundaryIs/LinearRing"))
        holes = [_ring(hole) for hole in element.iterfind("innerBoundaryIs/LinearRing")]
        return shapely.Polygon(outer, holes)
    if element.tag == "Point":
        (position,) = _positions(element)
        return shapely.Point(position)
    return shapely.LineString(_positions(element))


def _ring(element: Element | None) -> list[tuple[float, ...]]:
    if element is None:
        raise ValueError("a polygon without an outer boundary")
    return _positions(element)


def _positions(element: Element) -> list[tuple[float, ...]]:
    """Return the positions, flat if no height says anything (most writers give 0)."""
    if element.tag == "Track":
        texts = [(coord.text or "").split() for coord in element.iterfind("coord")]
    else:
        texts = [triple.split(",") for triple in (element.findtext("coordinates") or "").split()]
    positions = [_position(text) for text in texts]
    raised = any(position[2] for position in positions)
    return [position if raised else position[:2] for position in positions]


def _position(texts: list[str]) -> tuple[float, ...]:
    if not 2 <= len(texts) <= 3:
        raise ValueError(f"{','.join(texts)[:40]!r} is not longitude,latitude,height")
    longitude, latitude, height = (*map(float, texts[:2]), float((*texts, "0")[2] or 0))
    return longitude, latitude, height
