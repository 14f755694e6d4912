"""The week board's own addresses: the plan, what a move costs, the move, and the way back."""

from collections.abc import Callable
from typing import Any

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from turfmap.doors.web import asked
from turfmap.doors.web.problems import ProblemError
from turfmap.doors.web.settings import Settings


class DaysRoutes:
    """The routes of the plan in hand; without one there is nothing at them."""

    def __init__(self, settings: Settings) -> None:
        self._board = settings.days

    def routes(self) -> list[Route]:
        """Return all routes, below the address where they are mounted."""
        if self._board is None:
            return []
        board = self._board
        posts: dict[str, tuple[Callable[..., Any], tuple[str, ...]]] = {
            "/costs": (board.costs, ("stop",)),
            "/move": (board.move, ("stop", "day", "truck")),
            "/undo": (board.undo, ()),
            "/write": (board.write, ()),
        }
        return [
            Route("/board", self.shown, methods=["GET"]),
            *(Route(path, _post(*work), methods=["POST"]) for path, work in posts.items()),
        ]

    async def shown(self, request: Request) -> Response:
        """Answer with the board."""
        asked.query_of(request, ())
        assert self._board is not None  # noqa: S101 - else it has no route
        return JSONResponse(await to_thread.run_sync(self._board.shown))


def _post(work: Callable[..., Any], names: tuple[str, ...]) -> Callable[[Request], Any]:
    async def answer(request: Request) -> Response:
        asked.query_of(request, ())
        body = await asked.json_body(request, asked.JSON)
        given = [body.get(name) for name in names] if isinstance(body, dict) else []
        version = body.get("version") if isinstance(body, dict) else None
        if type(version) is not int or not all(isinstance(one, str) for one in given):
            needed = ", ".join((*names, "version"))
            raise ProblemError(400, f"Send an object with {needed}.")
        from turfmap.desk.week_board import ChangedMeanwhileError  # noqa: PLC0415 - an extra

        try:
            return JSONResponse(await to_thread.run_sync(lambda: work(*given, version)))
        except ChangedMeanwhileError:
            said = "The plan was changed on another page; this one shows it as it is now."
            raise ProblemError(409, said) from None

    return answer
