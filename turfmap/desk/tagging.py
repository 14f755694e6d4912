"""Entity tags for edits that were worked out from the rows as they stood."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from turfmap.desk import features
from turfmap.foundations.errors import Fault, FileFaultError
from turfmap.store import change_log, geopackage

_TRIES = 3


def with_etags(path: Path, make: Callable[[], dict[str, Any]]) -> dict[str, Any]:
    """Make edits, and give each the tag of the very row that it was made from.

    Parameters
    ----------
    path
        The place.
    make
        Reads the place and returns a dict with ``edits``; called again if a row was changed
        meanwhile.

    Raises
    ------
    FileFaultError
        If others change the place without a pause.
    """
    for _ in range(_TRIES):
        before = _position(path)
        made = make()
        tagged = made | {"edits": [_tagged(path, edit) for edit in made["edits"]]}
        if _position(path) == before:
            return tagged
    raise FileFaultError("busy", Fault(str(path), "", "it changes all the time", "try again"))


def _tagged(path: Path, edit: dict[str, Any]) -> dict[str, Any]:
    if edit["op"] == "create":
        return edit
    found = features.feature(path, edit["layer"], edit["id"])
    return edit | {"etag": found.etag if found else None}


def _position(path: Path) -> int:
    """Return the newest entry of the log of changes, whoever made it."""
    with geopackage.reading(path) as connection:
        return change_log.last_entry(connection)


def newest_change(path: Path) -> int:
    """Return the number of the newest change of a place, 0 if there is none.

    Raises
    ------
    InputFaultsError
        If the file cannot be read.
    """
    with geopackage.reading(path) as connection:
        return change_log.newest_change(connection)
