"""The form for a visit: what it needs, limits before, the record itself, lists and files."""

from functools import partial
from typing import Any

from anyio import CapacityLimiter, to_thread
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from turfmap.desk import record_form
from turfmap.desk.record_fields import on_fields
from turfmap.desk.record_visit import record_visit, visit_limits
from turfmap.doors.web import asked
from turfmap.doors.web.problems import ProblemError
from turfmap.doors.web.settings import Settings
from turfmap.foundations.errors import FileFaultError, InputFaultsError

_TYPES = {
    "csv": "text/csv; charset=utf-8",
    "json": "application/json",
    "html": "text/html; charset=utf-8",
}
NOTHING_WRITTEN = "Nothing was recorded yet."


class RecordRoutes:
    """The routes of the form; what they answer is said by the desk's functions of like name."""

    def __init__(self, settings: Settings, writing: CapacityLimiter) -> None:
        self._settings, self._place, self._writing = settings, settings.place, writing

    def routes(self) -> list[Route]:
        """Return all routes, below the address where they are mounted."""
        return [
            Route("/form", self.form, methods=["GET"]),
            Route("/ground", self.ground, methods=["GET"]),
            Route("/visits", self.visits, methods=["GET"]),
            Route("/visits", self.record, methods=["POST"]),
            Route("/limits", self.limits, methods=["POST"]),
            Route("/export/{ending}", self.export, methods=["GET"]),
        ]

    def form(self, request: Request) -> Response:
        """Answer with what the form needs."""
        asked.query_of(request, ())
        return JSONResponse(record_form.record_form(self._place, as_of=self._settings.as_of))

    def ground(self, request: Request) -> Response:
        """Answer with how much of each zone may be treated."""
        query = asked.query_of(request, ("property", "product"))
        if not query.get("property"):
            raise ProblemError(400, "Say with property which one is meant.")
        product = query.get("product") or None
        found = record_form.treatable_ground(self._place, query["property"], product)
        return JSONResponse(found)

    def visits(self, request: Request) -> Response:
        """Answer with the newest records."""
        query = asked.query_of(request, ("most",))
        most = asked.whole(query, "most", least=1, otherwise=record_form.MOST_SHOWN)
        return JSONResponse(record_form.recent_records(self._place, most=most))

    async def record(self, request: Request) -> Response:
        """Record a visit once, or correct one; every fault at its field."""
        body = await _body(request, needs_id=True)
        work = partial(
            record_visit,
            self._place,
            body["said"],
            corrects=body.get("corrects"),
            unfinished=body.get("unfinished", False),
        )
        try:
            result = await to_thread.run_sync(work, limiter=self._writing)
        except FileFaultError:
            raise
        except InputFaultsError as error:
            raise ProblemError(422, NOTHING_WRITTEN, faults=on_fields(error.faults)) from None
        return JSONResponse(result, status_code=200 if result["already"] else 201)

    async def limits(self, request: Request) -> Response:
        """Answer with what the limits say of a visit; nothing is saved."""
        body = await _body(request, needs_id=False)
        work = partial(visit_limits, self._place, body["said"], corrects=body.get("corrects"))
        return JSONResponse(await to_thread.run_sync(work))

    def export(self, request: Request) -> Response:
        """Answer with all records as a file."""
        asked.query_of(request, ())
        ending = request.path_params["ending"]
        if ending not in record_form.ENDINGS:
            raise ProblemError(404, "Records are handed out as csv, json or html.")
        named = {"Content-Disposition": f'attachment; filename="records.{ending}"'}
        content = record_form.handed_out(self._place, ending)
        return Response(content, media_type=_TYPES[ending], headers=named)


async def _body(request: Request, *, needs_id: bool) -> dict[str, Any]:
    """Return a visit as it was sent, each part of the type that it must have."""
    asked.query_of(request, ())
    body = await asked.json_body(request, asked.JSON)
    known = {"said": dict, "corrects": str, "unfinished": bool}
    if not isinstance(body, dict) or not isinstance(body.get("said"), dict):
        raise ProblemError(400, "Send an object with said, the facts of the visit.")
    for name, value in body.items():
        if name not in known or (value is not None and not isinstance(value, known[name])):
            raise ProblemError(400, f"{name[:40]!r} is not understood here.")
    if needs_id and not body["said"].get("id"):
        raise ProblemError(400, "Give the visit an id, so that sending it twice does no harm.")
    return {name: value for name, value in body.items() if value is not None}
