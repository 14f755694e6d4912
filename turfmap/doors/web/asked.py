"""What a request asks for: its query and its body, read strictly."""

import json
import math
import re
from collections.abc import Collection, Mapping
from datetime import date, datetime
from typing import Any, NoReturn

from starlette.requests import Request

from turfmap.doors.web.problems import ProblemError

GEOJSON, JSON, MERGE_PATCH = (
    "application/geo+json",
    "application/json",
    "application/merge-patch+json",
)
# Beyond this SQLite's numbers end; nobody has so many rows.
MOST_ROWS = 999_999_999
_ETAG = re.compile(r'\s*(W/)?(?:"([^"]*)"|([^\s",]+))\s*(?:,|$)')


def query_of(request: Request, allowed: Collection[str]) -> Mapping[str, str]:
    """Return the query's parameters.

    Raises
    ------
    ProblemError
        400 for one that is not known here, or that comes twice.
    """
    given: dict[str, str] = {}
    for name, value in request.query_params.multi_items():
        if name not in allowed:
            known = ", ".join(allowed) or "none"
            raise ProblemError(400, f"There is no parameter {name[:40]!r} here; known: {known}.")
        if name in given:
            raise ProblemError(400, f"The parameter {name} comes twice.")
        given[name] = value
    return given


def whole(query: Mapping[str, str], name: str, *, least: int, otherwise: int) -> int:
    """Return a whole number of the query."""
    text = query.get(name)
    if text is None:
        return otherwise
    if not (text.isascii() and text.isdecimal() and least <= int(text[:10]) <= MOST_ROWS):
        raise ProblemError(400, f"{name} must be a whole number from {least} on.")
    return int(text[:10])


def yes_no(query: Mapping[str, str], name: str) -> bool:
    """Return a yes or no of the query; without it, no."""
    text = query.get(name, "false")
    if text not in {"true", "false"}:
        raise ProblemError(400, f"{name} must be true or false.")
    return text == "true"


def day(text: str, name: str) -> date:
    """Return a day written YYYY-MM-DD."""
    try:
        if len(text) != 10:
            raise ValueError
        return date.fromisoformat(text)
    except ValueError:
        raise ProblemError(400, f"{name} must be a day, written YYYY-MM-DD.") from None


def box(text: str | None) -> tuple[float, float, float, float] | None:
    """Return the four numbers of a bbox; heights, if there are six, are left out."""
    if text is None:
        return None
    try:
        numbers = [float(part) for part in text.split(",")]
    except ValueError:
        numbers = []
    if len(numbers) not in {4, 6} or not all(map(math.isfinite, numbers)):
        raise ProblemError(400, "bbox must be four numbers with commas between them.")
    half = len(numbers) // 2
    return numbers[0], numbers[1], numbers[half], numbers[half + 1]


def days(text: str | None) -> tuple[str | None, str | None]:
    """Return the first and last day of an RFC 3339 instant or interval; None is open."""
    if text is None:
        return None, None
    ends = text.split("/")
    found = [_day_of(part) for part in ends]
    if len(ends) > 2 or (len(ends) == 1 and found[0] is None):
        raise ProblemError(400, "datetime must be an instant, or an interval of two.")
    first, last = found[0], found[-1]
    if first is not None and last is not None and first > last:
        raise ProblemError(400, "datetime ends before it begins.")
    return first, last


def _day_of(text: str) -> str | None:
    if text in {"", ".."}:
        return None
    try:
        return datetime.fromisoformat(text).date().isoformat()
    except ValueError:
        raise ProblemError(400, "datetime must be written as RFC 3339 does.") from None


def etags(header: str | None) -> list[str] | None:
    """Return the entity tags of If-Match or If-None-Match, strong ones only; None without it."""
    if header is None:
        return None
    return [bare or quoted for weak, quoted, bare in _ETAG.findall(header) if not weak]


async def json_body(request: Request, *types: str) -> Any:
    """Return the body as JSON.

    Raises
    ------
    ProblemError
        415 if it says to be something else, 400 if it is no strict JSON.
    """
    told = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if told not in types:
        raise ProblemError(415, f"Send the body as {' or '.join(types)}.")
    body = await request.body()
    try:
        return json.loads(body.decode("utf-8"), parse_constant=_refuse, parse_float=_finite)
    except (ValueError, RecursionError):
        raise ProblemError(400, "The body is not strict JSON in UTF-8.") from None


def _refuse(text: str) -> NoReturn:
    raise ValueError(text)


def _finite(text: str) -> float:
    number = float(text)
    if not math.isfinite(number):
        raise ValueError(text)
    return number
