"""The definition of the API, made from the declarations of the drawn layers.

References
----------
OpenAPI Specification 3.0.3; OGC 17-069r4, Part 1: Core 1.0.1, clause 9 (requirements class
"OpenAPI 3.0").
"""

from importlib import metadata
from typing import Any

from turfmap.desk.features import MOST_A_PAGE, drawn_layers
from turfmap.desk.reference_systems import OFFERED
from turfmap.doors.web.asked import GEOJSON, JSON, MERGE_PATCH, MOST_ROWS
from turfmap.doors.web.features import LIMIT
from turfmap.doors.web.problems import MEDIA_TYPE as PROBLEM
from turfmap.foundations.checks import LONGEST_TEXT
from turfmap.foundations.definitions import Column, Layer

MEDIA_TYPE = "application/vnd.oai.openapi+json;version=3.0"
Node = dict[str, Any]

_TYPES: dict[str, Node] = {
    "text": {"type": "string", "maxLength": LONGEST_TEXT},
    "number": {"type": "number"},
    "whole": {"type": "integer"},
    "yes_no": {"type": "boolean"},
    "date": {"type": "string", "format": "date"},
    "time": {"type": "string", "format": "date-time"},
    "month_day": {"type": "string", "pattern": "^[0-9]{2}-[0-9]{2}$"},
}
_GEOMETRIES = {
    "area": ("Polygon", "MultiPolygon"),
    "point": ("Point",),
    "any": ("Point", "MultiPoint", "LineString", "MultiLineString", "Polygon", "MultiPolygon"),
}
# How deep positions lie in each geometry's coordinates.
_DEPTHS = {
    "Point": 0,
    "MultiPoint": 1,
    "LineString": 1,
    "MultiLineString": 2,
    "Polygon": 2,
    "MultiPolygon": 3,
}
# Everything behind the guard may answer so; see `guard` and `problems`.
_ALWAYS = (400, 401, 403, 404, 413, 421, 503, 507)


def document(root: str) -> Node:
    """Return the definition of the API as it stands at an address."""
    layers = drawn_layers()
    paths: Node = {
        "/": _page("landing", "What there is"),
        "/conformance": _page("conformance", "What this API conforms to"),
        "/openapi": _page("openapi", "This document", MEDIA_TYPE),
        "/collections": _page("collections", "The layers"),
    }
    for layer in layers.values():
        paths[f"/collections/{layer.name}"] = _page(f"{layer.name}", layer.title)
        paths[f"/collections/{layer.name}/items"] = _items(layer)
        paths[f"/collections/{layer.name}/items/{{featureId}}"] = _item(layer)
    return {
        "openapi": "3.0.3",
        "info": {
            "title": "turfmap",
            "version": _version(),
            "description": "OGC API - Features over a place: Part 1 core, Part 2 coordinate"
            " systems, Part 4 (draft, 20-002r1, 1.0.0-draft.2) create, replace, update, delete.",
            "license": {"name": "MIT"},
        },
        "servers": [{"url": root}],
        "security": [{"key": []}, {"password": []}],
        "paths": paths,
        "components": {
            "securitySchemes": {
                "key": {"type": "http", "scheme": "bearer"},
                "password": {
                    "type": "http",
                    "scheme": "basic",
                    "description": "For a desktop GIS: any user name, the key as password.",
                },
            },
            "parameters": _PARAMETERS,
            "schemas": {
                "problem": _PROBLEM,
                **{layer.name: _feature(layer) for layer in layers.values()},
                **{f"{layer.name}_page": _collection(layer) for layer in layers.values()},
            },
        },
    }


def _version() -> str:
    try:
        return metadata.version("turfmap")
    except metadata.PackageNotFoundError:
        return "0"


_PROBLEM: Node = {
    "type": "object",
    "required": ["type", "title", "status", "detail"],
    "properties": {
        "type": {"type": "string"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string"},
        "faults": {"type": "array", "items": {"type": "object"}},
        "current": {"type": "object", "nullable": True},
    },
}


def _query(name: str, schema: Node, plain: str, **more: Any) -> Node:
    return {"name": name, "in": "query", "description": plain, "schema": schema, **more}


_SYSTEM: Node = {"type": "string", "format": "uri", "enum": list(OFFERED)}
_PARAMETERS: Node = {
    "limit": _query(
        "limit",
        {"type": "integer", "minimum": 1, "maximum": MOST_A_PAGE, "default": LIMIT},
        "How many at most; more than the maximum is taken for the maximum.",
    ),
    "offset": _query(
        "offset",
        {"type": "integer", "minimum": 0, "maximum": MOST_ROWS, "default": 0},
        "How many to pass over.",
    ),
    "bbox": _query(
        "bbox",
        {"type": "array", "items": {"type": "number"}, "minItems": 4, "maxItems": 6},
        "Lower and upper corner of the box that features must meet.",
        style="form",
        explode=False,
    ),
    "bbox-crs": _query("bbox-crs", _SYSTEM, "The system that the box is in."),
    "crs": _query("crs", _SYSTEM, "The system of the answer's coordinates."),
    "datetime": _query(
        "datetime",
        {"type": "string"},
        "An instant or interval, on layers with a column of days; others answer with all.",
    ),
    "keep_overlaps": _query(
        "keep_overlaps", {"type": "boolean"}, "Whether zones may lie over one another."
    ),
    "featureId": {
        "name": "featureId",
        "in": "path",
        "required": True,
        "schema": {"type": "string", "pattern": "^[A-Za-z0-9_-]{1,64}$"},
    },
    "if-match": {
        "name": "If-Match",
        "in": "header",
        "description": "The entity tag that the feature had when it was read.",
        "schema": {"type": "string"},
    },
}


def _use(*names: str) -> list[Node]:
    return [{"$ref": f"#/components/parameters/{name}"} for name in names]


def _answers(good: Node, *refusals: int) -> Node:
    problem = {
        "description": "A problem",
        "content": {PROBLEM: {"schema": {"$ref": "#/components/schemas/problem"}}},
    }
    return good | {str(status): problem for status in sorted({*_ALWAYS, *refusals})}


def _content(description: str, media_type: str, schema: Node | None = None) -> Node:
    shown = {"schema": {"type": "object"} if schema is None else schema}
    return {"description": description, "content": {media_type: shown}}


def _page(name: str, title: str, media_type: str = JSON) -> Node:
    good = {"200": _content(title, media_type)}
    return {"get": {"operationId": f"get_{name}", "summary": title, "responses": _answers(good)}}


def _items(layer: Layer) -> Node:
    one, many = _of(layer.name), _of(f"{layer.name}_page")
    asked = _use("bbox", "bbox-crs", "crs", "datetime", "limit", "offset")
    return {
        "get": {
            "operationId": f"get_{layer.name}_items",
            "summary": layer.plain,
            "parameters": asked,
            "responses": _answers({"200": _content("A page of features", GEOJSON, many)}),
        },
        "post": {
            "operationId": f"add_{layer.name}",
            "summary": "Add a feature",
            "parameters": _use("keep_overlaps"),
            "requestBody": _body(one, GEOJSON, JSON),
            "responses": _answers({"201": _content("Added", GEOJSON, one)}, 409, 415, 422),
        },
    }


def _item(layer: Layer) -> Node:
    one = _of(layer.name)
    written = {"200": _content("Written", GEOJSON, one), "204": {"description": "Written"}}
    refusals = (409, 412, 415, 422, 428)
    write = {"parameters": _use("if-match", "keep_overlaps")}
    patch = {"type": "object", "properties": _feature(layer)["properties"]}
    return {
        "parameters": _use("featureId"),
        "get": {
            "operationId": f"get_{layer.name}_item",
            "parameters": _use("crs"),
            "responses": _answers(
                {"200": _content("A feature", GEOJSON, one), "304": {"description": "As seen"}}
            ),
        },
        "put": {
            "operationId": f"replace_{layer.name}",
            **write,
            "requestBody": _body(one, GEOJSON, JSON),
            "responses": _answers(written, *refusals),
        },
        "patch": {
            "operationId": f"update_{layer.name}",
            **write,
            "requestBody": _body(patch, MERGE_PATCH),
            "responses": _answers(written, *refusals),
        },
        "delete": {
            "operationId": f"delete_{layer.name}",
            "parameters": _use("if-match"),
            "responses": _answers({"204": {"description": "Deleted"}}, *refusals),
        },
    }


def _of(name: str) -> Node:
    return {"$ref": f"#/components/schemas/{name}"}


def _body(schema: Node, *media_types: str) -> Node:
    return {"required": True, "content": {kind: {"schema": schema} for kind in media_types}}


def _feature(layer: Layer) -> Node:
    required = [name for name, column in layer.columns.items() if column.required]
    properties = {name: _column(column) for name, column in layer.columns.items()}
    return {
        "type": "object",
        "required": ["type", "geometry", "properties"],
        "properties": {
            "type": {"type": "string", "enum": ["Feature"]},
            "id": {"type": "string", "pattern": "^[A-Za-z0-9_-]{1,64}$"},
            "etag": {"type": "string"},
            "geometry": {
                "nullable": True,
                "oneOf": [_geometry(name) for name in _GEOMETRIES[layer.geometry or "any"]],
            },
            "properties": {
                "type": "object",
                "required": required,
                "properties": properties,
                "additionalProperties": False,
            },
        },
    }


def _column(column: Column) -> Node:
    found = dict(_TYPES[column.type], description=column.plain)
    if column.one_of:
        found["enum"] = list(column.one_of)
    for name in ("minimum", "maximum"):
        if getattr(column, name) is not None:
            found[name] = getattr(column, name)
    if not column.required:
        found["nullable"] = True
        if column.one_of:
            found["enum"] = [*found["enum"], None]
    return found


def _geometry(name: str) -> Node:
    coordinates: Node = {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 3}
    for _ in range(_DEPTHS[name]):
        coordinates = {"type": "array", "items": coordinates}
    return {
        "type": "object",
        "required": ["type", "coordinates"],
        "properties": {"type": {"type": "string", "enum": [name]}, "coordinates": coordinates},
    }


def _collection(layer: Layer) -> Node:
    return {
        "type": "object",
        "required": ["type", "features"],
        "properties": {
            "type": {"type": "string", "enum": ["FeatureCollection"]},
            "features": {"type": "array", "items": _of(layer.name)},
            "links": {"type": "array", "items": {"type": "object"}},
            "numberMatched": {"type": "integer"},
            "numberReturned": {"type": "integer"},
        },
    }
