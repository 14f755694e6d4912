"""Every refusal and failure as one line of problem details, with nothing leaked.

References
----------
RFC 9457, Problem Details for HTTP APIs.
"""

import json
from collections.abc import Mapping
from http import HTTPStatus
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from turfmap.desk.edit_faults import RefusedError
from turfmap.desk.edits import EditClashError, NotThereError, TakenError
from turfmap.desk.undo import ChangedSinceError, NothingToUndoError
from turfmap.foundations.errors import Fault, FileFaultError, InputFaultsError, room_fault

MEDIA_TYPE = "application/problem+json"
# The place itself is in the way: the status for each sort, and when to try again [s].
_FILE_STATUS = {"busy": 503, "readonly": 403, "full": 507, "unreadable": 500}
_RETRY_AFTER_S = {"busy": "1"}


class ProblemError(Exception):
    """Raised where a request cannot be answered; becomes the problem that it carries."""

    def __init__(
        self, status: int, detail: str, *, headers: Mapping[str, str] | None = None, **more: Any
    ) -> None:
        self.status, self.detail, self.headers, self.more = status, detail, headers, more
        super().__init__(detail)


def problem(
    status: int, detail: str, *, headers: Mapping[str, str] | None = None, **more: Any
) -> Response:
    """Return problem details as a response of one line."""
    body = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": detail,
        **more,
    }
    return Response(
        json.dumps(body, allow_nan=False) + "\n", status, dict(headers or {}), MEDIA_TYPE
    )


def plain(fault: Fault, kind: str) -> dict[str, Any]:
    """Return a fault of the foundations in the form of those of the desk."""
    said = f"{fault.record}: {fault.problem}" if fault.record else fault.problem
    return {
        "problem": said,
        "mend": fault.mend,
        "kind": kind,
        "column": None,
        "where": None,
        "with": [],
    }


def _of_problem(_: Request, error: Exception) -> Response:
    assert isinstance(error, ProblemError)  # noqa: S101 - so registered
    return problem(error.status, error.detail, headers=error.headers, **error.more)


def _of_framework(_: Request, error: Exception) -> Response:
    status = getattr(error, "status_code", 500)
    headers = getattr(error, "headers", None)
    said = {404: "there is nothing at this address", 405: "this address does not take that method"}
    return problem(status, said.get(status, HTTPStatus(status).phrase), headers=headers)


def _of_input(_: Request, error: Exception) -> Response:
    assert isinstance(error, InputFaultsError)  # noqa: S101 - so registered
    faults = [plain(fault, "definition") for fault in error.faults]
    return problem(400, said_of(error), faults=faults)


def said_of(error: InputFaultsError) -> str:
    """Return the faults as sentences, without the place's path."""
    return " ".join(str(Fault("", one.record, one.problem, one.mend)) for one in error.faults)


def _of_file(_: Request, error: Exception) -> Response:
    assert isinstance(error, FileFaultError)  # noqa: S101 - so registered
    wait = _RETRY_AFTER_S.get(error.kind)
    faults = [plain(fault, error.kind) for fault in error.faults]
    headers = {"Retry-After": wait} if wait else None
    said = f"The place: {said_of(error)}"
    return problem(_FILE_STATUS[error.kind], said, headers=headers, faults=faults)


def _of_system(request: Request, error: Exception) -> Response:
    full = room_fault(error) if isinstance(error, OSError) else None
    return of_our_own() if full is None else _of_file(request, full)


def _of_refusal(_: Request, error: Exception) -> Response:
    assert isinstance(error, RefusedError)  # noqa: S101 - so registered
    more = {"edit": error.faults[0]["edit"]} if error.faults and "edit" in error.faults[0] else {}
    return problem(422, f"{error}.", faults=error.faults, **more)


def _of_clash(_: Request, error: Exception) -> Response:
    assert isinstance(error, EditClashError)  # noqa: S101 - so registered
    current = None if error.current is None else error.current.plain()
    return problem(412, "Somebody else changed it meanwhile.", current=current, edit=error.edit)


def _of_nothing(_: Request, __: Exception) -> Response:
    return problem(404, "There is no such feature.")


def _of_taken(_: Request, __: Exception) -> Response:
    return problem(409, "There is already a feature of that id.")


def _of_change_since(_: Request, error: Exception) -> Response:
    assert isinstance(error, ChangedSinceError)  # noqa: S101 - so registered
    return problem(409, said_of(error))


def _of_nothing_to_undo(_: Request, __: Exception) -> Response:
    return problem(409, "There is nothing to undo.")


def of_our_own(_: Request | None = None, __: Exception | None = None) -> Response:
    """Return what is told of a failure of ours: nothing."""
    return problem(500, "turfmap itself failed. Your file is as it was.")


HANDLERS: Mapping[Any, Any] = {
    ProblemError: _of_problem,
    FileFaultError: _of_file,
    InputFaultsError: _of_input,
    OSError: _of_system,
    RefusedError: _of_refusal,
    EditClashError: _of_clash,
    NotThereError: _of_nothing,
    TakenError: _of_taken,
    ChangedSinceError: _of_change_since,
    NothingToUndoError: _of_nothing_to_undo,
    404: _of_framework,
    405: _of_framework,
    Exception: of_our_own,
}
