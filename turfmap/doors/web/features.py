"""OGC API - Features: the items of the drawn layers, read and edited.

References
----------
OGC 17-069r4, Part 1: Core 1.0.1; OGC 18-058r1, Part 2: Coordinate Reference Systems by Reference;
OGC 20-002r1, Part 4: Create, Replace, Update and Delete, 1.0.0-draft.2.
"""

import json
from collections.abc import Mapping
from functools import partial
from typing import Any
from urllib.parse import urlencode

from anyio import CapacityLimiter, to_thread
from starlette.requests import Request
from starlette.responses import Response

from turfmap.desk import edits, features
from turfmap.desk.reference_systems import CRS84
from turfmap.doors.web import asked
from turfmap.doors.web.asked import GEOJSON, JSON, MERGE_PATCH
from turfmap.doors.web.guard import BROWSER
from turfmap.doors.web.problems import ProblemError
from turfmap.doors.web.settings import Settings

READ_QUERY = ("bbox", "bbox-crs", "crs", "datetime", "limit", "offset")
LIMIT = 1_000
_WHO = {BROWSER: "browser", "desktop": "api"}


class Features:
    """The routes of items and of one item.

    One edit is written after the other: SQLite would let them wait for one another without order.
    """

    def __init__(self, settings: Settings, writing: CapacityLimiter) -> None:
        self._settings, self._writing = settings, writing

    async def items(self, request: Request) -> Response:
        """Answer a request for the items of a layer."""
        name = layer_of(request)
        if request.method == "OPTIONS":
            return self._allowed("GET", "HEAD", "OPTIONS", edits=("POST",))
        if request.method == "POST":
            return await self._create(request, name)
        return await to_thread.run_sync(self._page, request, name)

    async def item(self, request: Request) -> Response:
        """Answer a request for one item."""
        name, identity = layer_of(request), request.path_params["identity"]
        if request.method == "OPTIONS":
            return self._allowed("GET", "HEAD", "OPTIONS", edits=("PUT", "PATCH", "DELETE"))
        if request.method in {"GET", "HEAD"}:
            return await to_thread.run_sync(self._one, request, name, identity)
        return await self._change(request, name, identity)

    def _allowed(self, *reads: str, edits: tuple[str, ...]) -> Response:
        methods = (*reads, *edits) if features.is_writable(self._settings.place) else reads
        return Response(status_code=204, headers={"Allow": ", ".join(methods)})

    def _page(self, request: Request, name: str) -> Response:
        query = asked.query_of(request, READ_QUERY)
        first_day, last_day = asked.days(query.get("datetime"))
        limit = asked.whole(query, "limit", least=1, otherwise=LIMIT)
        wanted = features.Query(
            bbox=asked.box(query.get("bbox")),
            bbox_crs=query.get("bbox-crs", CRS84),
            crs=query.get("crs", CRS84),
            first_day=first_day,
            last_day=last_day,
            limit=min(limit, features.MOST_A_PAGE),
            offset=asked.whole(query, "offset", least=0, otherwise=0),
        )
        page = features.features(self._settings.place, name, wanted)
        frame = {
            "links": _page_links(request, query, wanted, page),
            "numberMatched": page.matched,
            "numberReturned": len(page.features),
            "type": "FeatureCollection",
        }
        texts = ",".join(one.text for one in page.features)
        body = f'{json.dumps(frame)[:-1]},"features":[{texts}]}}'
        return Response(body, headers=_crs_header(wanted.crs), media_type=GEOJSON)

    def _one(self, request: Request, name: str, identity: str) -> Response:
        crs = asked.query_of(request, ("crs",)).get("crs", CRS84)
        found = features.feature(self._settings.place, name, identity, crs=crs)
        if found is None:
            raise ProblemError(404, "There is no such feature.")
        seen = asked.etags(request.headers.get("if-none-match"))
        if seen is not None and ("*" in seen or found.etag.strip('"') in seen):
            return Response(status_code=304, headers={"ETag": found.etag})
        return self._shown(request, name, found, crs=crs)

    def _shown(
        self, request: Request, name: str, found: features.Told, *, crs: str, status: int = 200
    ) -> Response:
        here = f"{root_of(request)}/collections/{name}/items/{found.identity}"
        links = [
            {"rel": "self", "type": GEOJSON, "href": here},
            {"rel": "collection", "type": JSON, "href": here.rpartition("/items/")[0]},
        ]
        headers = {"ETag": found.etag, **_crs_header(crs)}
        if status == 201:
            headers["Location"] = here
        body = f'{found.text[:-1]},"links":{json.dumps(links)}}}'
        return Response(body, status, headers, GEOJSON)

    async def _create(self, request: Request, name: str) -> Response:
        query = asked.query_of(request, ("keep_overlaps",))
        feature = await asked.json_body(request, GEOJSON, JSON)
        identity = feature.get("id") if isinstance(feature, dict) else None
        edit = {"layer": name, "op": "create", "id": identity, "feature": feature}
        return await self._written(request, name, edit, query)

    async def _change(self, request: Request, name: str, identity: str) -> Response:
        query = asked.query_of(request, ("keep_overlaps",))
        edit: dict[str, Any] = {"layer": name, "id": identity}
        if request.method == "DELETE":
            edit["op"] = "delete"
        elif request.method == "PUT":
            edit |= {"op": "replace", "feature": await asked.json_body(request, GEOJSON, JSON)}
        else:
            edit |= {"op": "merge", "feature": await asked.json_body(request, MERGE_PATCH)}
        edit["etag"] = asked.etags(request.headers.get("if-match"))
        if edit["etag"] is None and request.state.client == BROWSER:
            raise ProblemError(428, "Say with If-Match which state of the feature was changed.")
        return await self._written(request, name, edit, query)

    async def _written(
        self, request: Request, name: str, edit: Mapping[str, Any], query: Mapping[str, str]
    ) -> Response:
        """Write one edit; a desktop GIS is not held up by overlaps, as its log undoes them."""
        keep = asked.yes_no(query, "keep_overlaps") or request.state.client != BROWSER
        crs = request.headers.get("content-crs", f"<{CRS84}>").strip("<> ")
        write = partial(
            edits.apply_edits,
            self._settings.place,
            [edit],
            who=_WHO[request.state.client],
            keep_overlaps=keep,
            crs=crs,
        )
        (result,) = (await to_thread.run_sync(write, limiter=self._writing))["results"]
        if edit["op"] == "delete":
            return Response(status_code=204)
        read = partial(features.feature, self._settings.place, name, result["id"])
        found = await to_thread.run_sync(read)
        if found is None or found.etag != result["etag"]:  # changed again since, by another client
            return Response(status_code=204, headers={"ETag": result["etag"]})
        status = 201 if edit["op"] == "create" else 200
        return self._shown(request, name, found, crs=CRS84, status=status)


def layer_of(request: Request) -> str:
    """Return the layer that a request's address names.

    Raises
    ------
    ProblemError
        404 if there is none of that name.
    """
    name = str(request.path_params["layer"])
    if name not in features.drawn_layers():
        raise ProblemError(404, "There is no such layer.")
    return name


def root_of(request: Request) -> str:
    """Return the address of the API; the guard has seen that the host is our own."""
    return f"http://{request.headers['host']}/api"


def _crs_header(crs: str) -> dict[str, str]:
    return {"Content-Crs": f"<{crs}>"}


def _page_links(
    request: Request, query: Mapping[str, str], wanted: features.Query, page: features.Page
) -> list[dict[str, str]]:
    """Return links to this page and to those beside it."""
    here = f"{root_of(request)}{request.url.path.removeprefix('/api')}"
    starts = {"self": wanted.offset}
    if wanted.offset + len(page.features) < page.matched and page.features:
        starts["next"] = wanted.offset + len(page.features)
    if wanted.offset > 0:
        starts["prev"] = max(0, wanted.offset - wanted.limit)
    return [
        {
            "rel": rel,
            "type": GEOJSON,
            "href": f"{here}?{urlencode({**query, 'limit': wanted.limit, 'offset': start})}",
        }
        for rel, start in starts.items()
    ]
