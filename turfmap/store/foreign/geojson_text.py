"""GeoJSON (RFC 7946), and the ``crs`` member of its forerunner of 2008 (section 3)."""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from shapely.geometry import shape

from turfmap.foundations.errors import input_fault
from turfmap.store.foreign.limits import MAX_JSON_DEPTH, MAX_RECORDS
from turfmap.store.foreign.records import UNREADABLE, Contents, Found, Stated, record_name

GEOMETRY_TYPES = {
    "GeometryCollection",
    "LineString",
    "MultiLineString",
    "MultiPoint",
    "MultiPolygon",
    "Point",
    "Polygon",
}
EPSG_NAME = re.compile(r"(?:urn:ogc:def:crs:)?EPSG:[0-9.]*:?(\d{4,6})", re.IGNORECASE)
LONLAT_NAME = re.compile(r"(?:urn:ogc:def:crs:)?OGC:[0-9.]*:?CRS84", re.IGNORECASE)


def read(path: Path, _layer: str | None) -> Contents:
    """Open a GeoJSON file: a feature collection, a feature, or a bare geometry."""
    document = _parsed(path)
    if document.get("type") == "FeatureCollection":
        features = document.get("features")
    else:
        features = [document]
    if not isinstance(features, list):
        raise input_fault("its FeatureCollection has no list of features", "export it again")
    if len(features) > MAX_RECORDS:
        raise input_fault(f"it holds {len(features):,} records", f"give at most {MAX_RECORDS:,}")
    crs, stated = _crs(document)
    return Contents(_records(features), crs, stated)


def _parsed(path: Path) -> dict[str, Any]:
    try:
        document = json.loads(path.read_bytes())
    except UnicodeDecodeError as error:
        raise input_fault(
            f"byte {error.start} is not UTF-8 text", "save it as UTF-8, as the standard asks"
        ) from error
    except json.JSONDecodeError as error:
        raise input_fault(
            f"the JSON is damaged ({error.msg})", "export it again", record=f"line {error.lineno}"
        ) from error
    except RecursionError as error:
        raise _too_deep() from error
    kind = document.get("type") if isinstance(document, dict) else None
    if kind not in GEOMETRY_TYPES | {"FeatureCollection", "Feature"}:
        raise input_fault("it is JSON, but not GeoJSON", "export it as GeoJSON")
    return dict(document)


def _too_deep() -> Exception:
    return input_fault(f"its JSON is nested deeper than {MAX_JSON_DEPTH}", "export a plainer file")


def _crs(document: dict[str, Any]) -> tuple[str, Stated]:
    if "crs" not in document:
        return "OGC:CRS84", Stated.BY_STANDARD
    member = document["crs"]
    if member is None:  # 2008: "no CRS can be assumed"
        return "", Stated.BY_NOTHING
    try:
        name = str(member["properties"]["name"]) if member["type"] == "name" else ""
    except (LookupError, TypeError):
        name = ""
    if LONLAT_NAME.fullmatch(name):
        return "OGC:CRS84", Stated.BY_FILE
    if code := EPSG_NAME.fullmatch(name):
        return f"EPSG:{code[1]}", Stated.BY_FILE
    raise input_fault(
        f"its crs member names no system we know ({(name or json.dumps(member))[:60]})",
        "export it in longitude and latitude, without a crs member",
    )


def _records(features: list[Any]) -> Iterator[Found]:
    for number, feature in enumerate(features, start=1):
        yield _record(feature, record_name(number))


def _record(feature: Any, name: str) -> Found:
    if not isinstance(feature, dict):
        return Found(name, {}, None, "it is not a feature", "export it again")
    bare = feature.get("type") in GEOMETRY_TYPES
    told = feature if bare else feature.get("geometry")
    row = {} if bare else feature.get("properties") or {}
    if not isinstance(row, dict):
        return Found(name, {}, None, "its properties are not a list of names", "export it again")
    try:
        _check_depth(row)
        return Found(name, row, None if told is None else shape(told))
    except UNREADABLE as error:
        return Found(name, {}, None, f"its shape cannot be read ({error})", "draw it again")


def _check_depth(value: Any) -> None:
    """Walk level by level, so that the depth of the file is never the depth of our calls.

    Shapes need no such walk: they are built by calls that refuse what is no shape.
    """
    level = [value]
    for _ in range(MAX_JSON_DEPTH):
        inner = (part.values() if isinstance(part, dict) else part for part in level)
        level = [part for parts in inner for part in parts if isinstance(part, dict | list)]
        if not level:
            return
    raise _too_deep()
