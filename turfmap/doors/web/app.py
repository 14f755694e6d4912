"""The web door: all routes behind one guard."""

from anyio import CapacityLimiter
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Mount, Route
from starlette.types import ASGIApp

from turfmap.doors.web import tiles
from turfmap.doors.web.api_pages import ApiPages
from turfmap.doors.web.days_routes import DaysRoutes
from turfmap.doors.web.desk_routes import DeskRoutes
from turfmap.doors.web.features import Features
from turfmap.doors.web.guard import Guard
from turfmap.doors.web.problems import HANDLERS, ProblemError
from turfmap.doors.web.record_routes import RecordRoutes
from turfmap.doors.web.settings import Settings
from turfmap.views import draw_page, record_page, week_board

READ = ["GET"]
ITEMS = ["GET", "POST", "OPTIONS"]
ITEM = ["GET", "PUT", "PATCH", "DELETE", "OPTIONS"]


def make_app(settings: Settings) -> ASGIApp:
    """Return the application that serves one place."""
    writing = CapacityLimiter(1)
    pages, features = ApiPages(settings), Features(settings, writing)
    desk = DeskRoutes(settings, writing)
    layer = "/api/collections/{layer}"
    routes = [
        *_page_routes(),
        Route("/api", pages.landing, methods=READ),
        Route("/api/", pages.landing, methods=READ),
        Route("/api/conformance", pages.conformance, methods=READ),
        Route("/api/openapi", pages.openapi, methods=READ),
        Route("/api/collections", pages.collections, methods=READ),
        Route(layer, pages.collection, methods=READ),
        Route(f"{layer}/items", features.items, methods=ITEMS),
        Route(f"{layer}/items/{{identity}}", features.item, methods=ITEM),
        Mount("/desk/days", routes=DaysRoutes(settings).routes()),
        Mount("/desk/record", routes=RecordRoutes(settings, writing).routes()),
        Mount("/desk", routes=desk.routes()),
        Route(tiles.ROUTE, tiles.Tiles(settings).tile, methods=READ),
    ]
    app = Starlette(routes=routes, exception_handlers=dict(HANDLERS))
    app.router.redirect_slashes = False
    return Guard(app, settings)


def _page_routes() -> list[Route]:
    """Return the routes of the page's own files, read once: they hold nothing of the user's."""
    files = draw_page.static_files() | week_board.static_files() | record_page.static_files()

    def page(_: Request) -> Response:
        return _file(draw_page.PAGE)

    def part(request: Request) -> Response:
        return _file(request.path_params["file"])

    def _file(name: str) -> Response:
        if name not in files:
            raise ProblemError(404, "There is nothing at this address.")
        body, media_type = files[name]
        # Asked for again each time, so that a newer turfmap is not met with older pages.
        return Response(body, media_type=media_type, headers={"Cache-Control": "no-cache"})

    def start(_: Request) -> Response:
        return RedirectResponse("/app/")

    def no_icon(_: Request) -> Response:
        return Response(status_code=204)

    return [
        Route("/", start, methods=READ),
        Route("/app", start, methods=READ),
        Route("/favicon.ico", no_icon, methods=READ),
        Route("/app/", page, methods=READ),
        Route("/app/{file}", part, methods=READ),
    ]
