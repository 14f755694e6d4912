"""The editor's own address space: measuring, cutting, mending, saving, colours."""

from functools import partial
from typing import Any

from anyio import CapacityLimiter, to_thread
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from turfmap.desk import (
    drawing_state,
    edits,
    features,
    measuring,
    mending,
    splitting,
    tagging,
    undo,
    walking,
)
from turfmap.desk.definitions_for_drawing import definitions
from turfmap.desk.drawn_features import shape_of
from turfmap.doors.web import asked
from turfmap.doors.web.asked import GEOJSON, JSON
from turfmap.doors.web.problems import ProblemError
from turfmap.doors.web.settings import Settings
from turfmap.doors.web.tiles import ADDRESS as PICTURE_TILES

GPX = ("text/plain", "application/gpx+xml")
MOST_EDITS = 1_000
# What an edit of the editor may do; a merge is the API's own.
OPERATIONS = ("create", "replace", "delete")
WHO = "browser"


class DeskRoutes:
    """The editor's routes; what they answer is said by the desk's functions of like name."""

    def __init__(self, settings: Settings, writing: CapacityLimiter) -> None:
        self._settings, self._place, self._writing = settings, settings.place, writing

    def routes(self) -> list[Route]:
        """Return all routes, below the address where they are mounted."""
        posts = {
            "/measure": self.measure,
            "/split": self.split,
            "/merge": self.merge,
            "/mend": self.mend,
            "/walk": self.walk,
            "/edits": self.edits,
            "/undo": self.undo,
        }
        gets = {
            "/definitions": self.definitions,
            "/change": self.change,
            "/odd": self.odd,
            "/state": self.state,
        }
        return [
            *(Route(path, answer, methods=["POST"]) for path, answer in posts.items()),
            *(Route(path, answer, methods=["GET"]) for path, answer in gets.items()),
        ]

    def definitions(self, request: Request) -> Response:
        """Answer with what the forms need."""
        asked.query_of(request, ())
        found = definitions(self._place, as_of=self._settings.as_of)
        place = found["place"]
        place["writable"] = features.is_writable(self._place)
        picture, credit = self._settings.picture, self._settings.credit
        place["picture"] = {"tiles": PICTURE_TILES, "credit": ""} if picture else None
        tiles = self._settings.tiles
        place["address"] = {"url": tiles, "credit": credit or ""} if tiles else None
        return JSONResponse(found)

    def change(self, request: Request) -> Response:
        """Answer with the number of the newest change, which is cheap to ask."""
        asked.query_of(request, ())
        return JSONResponse({"change": tagging.newest_change(self._place)})

    def state(self, request: Request) -> Response:
        """Answer with how zones stand."""
        query = asked.query_of(request, ("as_of", "changed"))
        if "as_of" not in query:
            raise ProblemError(400, "Say with as_of which day is meant.")
        changed = query.get("changed")
        found = drawing_state.state(
            self._place,
            as_of=asked.day(query["as_of"], "as_of"),
            changed=None if changed is None else changed.split(","),
            weather_file=self._settings.weather_file,
        )
        return JSONResponse(found)

    def odd(self, request: Request) -> Response:
        """Answer with overlaps and gaps."""
        name = asked.query_of(request, ("property",)).get("property") or None
        return JSONResponse(mending.odd(self._place, property_name=name))

    async def measure(self, request: Request) -> Response:
        """Answer with what a drawing would mean; nothing is saved."""
        body = await _body(request, "layer", "feature")
        return await _answer(
            measuring.measure,
            self._place,
            layer=_layer(body),
            identity=body.get("id"),
            feature=_object(body, "feature"),
            others=[_companion(one) for one in _objects(body, "others")]
            if "others" in body
            else (),
        )

    async def split(self, request: Request) -> Response:
        """Answer with the parts of a cut area."""
        body = await _body(request, "feature", "line")
        cut = partial(splitting.split, _object(body, "feature"), _object(body, "line"))
        if body.get("layer") != "zone":
            return await _answer(cut)
        # Its neighbours get the ends of the cut as corners too.
        beside = partial(cut, path=self._place, identity=body.get("id"))
        return await _answer(tagging.with_etags, self._place, beside)

    async def merge(self, request: Request) -> Response:
        """Answer with areas joined to one."""
        body = await _body(request, "features")
        return await _answer(splitting.merge, _objects(body, "features"))

    async def mend(self, request: Request) -> Response:
        """Answer with the edits that settle an overlap or a gap."""
        body = await _body(request, "overlap_or_gap", "give_to")
        make = partial(
            mending.mend,
            self._place,
            found=_object(body, "overlap_or_gap"),
            give_to=_text(body, "give_to"),
            edits=_objects(body, "edits") if body.get("edits") else (),
        )
        return await _answer(tagging.with_etags, self._place, make)

    async def walk(self, request: Request) -> Response:
        """Answer with the shape of a walked track."""
        asked.query_of(request, ())
        told = request.headers.get("content-type", "").partition(";")[0].strip().lower()
        if told not in GPX:
            raise ProblemError(415, f"Send the track as {' or '.join(GPX)}.")
        try:
            text = (await request.body()).decode("utf-8-sig")
        except UnicodeDecodeError:
            raise ProblemError(400, "The track is not text in UTF-8.") from None
        return await _answer(walking.walk, text)

    async def edits(self, request: Request) -> Response:
        """Write edits, all or none."""
        body = await _body(request, "edits")
        asked_for, keep = _objects(body, "edits"), body.get("keep_overlaps", False)
        if not asked_for or len(asked_for) > MOST_EDITS or not isinstance(keep, bool):
            raise ProblemError(400, f"Send 1 to {MOST_EDITS} edits, keep_overlaps true or false.")
        for number, edit in enumerate(asked_for):
            _check_edit(number, edit)
        write = partial(edits.apply_edits, self._place, asked_for, who=WHO, keep_overlaps=keep)
        return JSONResponse(await to_thread.run_sync(write, limiter=self._writing))

    async def undo(self, request: Request) -> Response:
        """Undo the newest change that has not been undone."""
        await _body(request)
        write = partial(undo.undo, self._place, who=WHO)
        return JSONResponse(await to_thread.run_sync(write, limiter=self._writing))


async def _answer(work: Any, *given: Any, **more: Any) -> Response:
    return JSONResponse(await to_thread.run_sync(partial(work, *given, **more)))


async def _body(request: Request, *needed: str) -> dict[str, Any]:
    asked.query_of(request, ())
    body = await asked.json_body(request, JSON, GEOJSON)
    if not isinstance(body, dict) or any(name not in body for name in needed):
        raise ProblemError(400, f"Send an object with {', '.join(needed) or 'nothing in it'}.")
    return body


def _layer(body: dict[str, Any]) -> str:
    name = _text(body, "layer")
    if name not in features.drawn_layers():
        raise ProblemError(404, "There is no such layer.")
    return name


def _companion(edit: dict[str, Any]) -> dict[str, Any]:
    if edit.get("op") != "replace" or any(name not in edit for name in ("layer", "id", "feature")):
        raise ProblemError(400, "Each of others replaces a row: say its layer, id and feature.")
    return {**edit, "layer": _layer(edit), "id": _text(edit, "id"), "feature": _shaped(edit)}


def _shaped(edit: dict[str, Any]) -> dict[str, Any]:
    feature = _object(edit, "feature")
    shape_of(feature)  # refuses what is no shape
    return feature


def _text(body: dict[str, Any], name: str) -> str:
    value = body[name]
    if not isinstance(value, str):
        raise ProblemError(400, f"{name} must be text.")
    return value


def _object(body: dict[str, Any], name: str) -> dict[str, Any]:
    value = body[name]
    if not isinstance(value, dict):
        raise ProblemError(400, f"{name} must be an object.")
    return value


def _objects(body: dict[str, Any], name: str) -> list[dict[str, Any]]:
    value = body[name]
    if not isinstance(value, list) or not all(isinstance(one, dict) for one in value):
        raise ProblemError(400, f"{name} must be a list of objects.")
    return value


def _check_edit(number: int, edit: dict[str, Any]) -> None:
    operation = edit.get("op")
    if operation not in OPERATIONS:
        raise ProblemError(400, f"Edit {number}: op is one of {', '.join(OPERATIONS)}.")
    if operation != "create" and not (edit.get("id") and edit.get("etag")):
        said = f"Edit {number}: say with id and etag which state of which feature was changed."
        raise ProblemError(428, said, edit=number)
