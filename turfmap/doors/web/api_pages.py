"""OGC API - Features: the pages that say what there is.

References
----------
OGC 17-069r4, Part 1: Core 1.0.1, clause 7; OGC 18-058r1, Part 2, clause 6.
"""

from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from turfmap.desk import features
from turfmap.desk.reference_systems import CRS84
from turfmap.doors.web import asked
from turfmap.doors.web.features import layer_of, root_of
from turfmap.doors.web.openapi import MEDIA_TYPE as OPENAPI
from turfmap.doors.web.openapi import document
from turfmap.doors.web.settings import Settings

_SPEC = "http://www.opengis.net/spec"
CONFORMS_TO = (
    f"{_SPEC}/ogcapi-features-1/1.0/conf/core",
    f"{_SPEC}/ogcapi-features-1/1.0/conf/oas30",
    f"{_SPEC}/ogcapi-features-1/1.0/conf/geojson",
    f"{_SPEC}/ogcapi-features-2/1.0/conf/crs",
    # Part 4 is a draft: OGC 20-002r1, 1.0.0-draft.2.
    f"{_SPEC}/ogcapi-features-4/1.0/conf/create-replace-delete",
    f"{_SPEC}/ogcapi-features-4/1.0/conf/update",
    f"{_SPEC}/ogcapi-features-4/1.0/conf/features",
    f"{_SPEC}/ogcapi-features-4/1.0/conf/optimistic-locking-etags",
)
TITLE = "A turfmap place"
PLAIN = "Zones of a place, what lies around them, and what must be kept clear of."


class ApiPages:
    """The routes that describe the API and its collections."""

    def __init__(self, settings: Settings) -> None:
        self._settings = settings

    def landing(self, request: Request) -> Response:
        """Answer with links to everything else."""
        asked.query_of(request, ())
        root = root_of(request)
        links = [
            _link("self", f"{root}/", "This document"),
            _link("service-desc", f"{root}/openapi", "The definition of this API", OPENAPI),
            _link("conformance", f"{root}/conformance", "What this API conforms to"),
            _link("data", f"{root}/collections", "The layers"),
        ]
        return JSONResponse({"title": TITLE, "description": PLAIN, "links": links})

    def conformance(self, request: Request) -> Response:
        """Answer with what the API conforms to."""
        asked.query_of(request, ())
        return JSONResponse({"conformsTo": list(CONFORMS_TO)})

    def openapi(self, request: Request) -> Response:
        """Answer with the definition of the API."""
        asked.query_of(request, ())
        return JSONResponse(document(root_of(request)), media_type=OPENAPI)

    def collections(self, request: Request) -> Response:
        """Answer with all layers."""
        asked.query_of(request, ())
        root = root_of(request)
        found = [_collection(one, root) for one in features.collections(self._settings.place)]
        links = [_link("self", f"{root}/collections", "This document")]
        crs = list(found[0]["crs"]) if found else [CRS84]
        return JSONResponse({"links": links, "crs": crs, "collections": found})

    def collection(self, request: Request) -> Response:
        """Answer with one layer."""
        asked.query_of(request, ())
        name = layer_of(request)
        found = features.collections(self._settings.place)
        (one,) = (one for one in found if one["name"] == name)
        return JSONResponse(_collection(one, root_of(request)))


def _collection(one: dict[str, Any], root: str) -> dict[str, Any]:
    here = f"{root}/collections/{one['name']}"
    spatial = {"bbox": [one["bounds"]], "crs": CRS84} if one["bounds"] else None
    return {
        "id": one["name"],
        "title": one["title"],
        "description": one["plain"],
        **({"extent": {"spatial": spatial}} if spatial else {}),
        "itemType": "feature",
        "crs": one["systems"],
        "storageCrs": one["kept"],
        "links": [
            _link("self", here, one["title"]),
            _link("items", f"{here}/items", one["title"], asked.GEOJSON),
        ],
    }


def _link(rel: str, href: str, title: str, kind: str = asked.JSON) -> dict[str, str]:
    return {"rel": rel, "href": href, "title": title, "type": kind}
