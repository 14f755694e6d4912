"""Tiles of the picture from the air that the user gave."""

from starlette.requests import Request
from starlette.responses import Response

from turfmap.doors.web import asked
from turfmap.doors.web.problems import ProblemError
from turfmap.doors.web.settings import Settings
from turfmap.foundations.errors import InputFaultsError

ADDRESS = "/tiles/{z}/{x}/{y}.png"
ROUTE = "/tiles/{z:int}/{x:int}/{y:int}.png"


class Tiles:
    """The route of the picture's tiles."""

    def __init__(self, settings: Settings) -> None:
        self._picture = settings.picture

    def tile(self, request: Request) -> Response:
        """Answer with one tile; where the picture does not reach, it is transparent."""
        asked.query_of(request, ())
        if self._picture is None:
            raise ProblemError(404, "No picture was given: start with --picture FILE.")
        try:
            made = self._picture(*(request.path_params[name] for name in "zxy"))
        except InputFaultsError:
            raise ProblemError(404, "There is no such tile.") from None
        return Response(made, media_type="image/png", headers={"Cache-Control": "max-age=3600"})
