"""Undo a change of the log: the rows are put back as they were, as a new change."""

import sqlite3
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from turfmap.desk import features
from turfmap.desk.renames import carry_names
from turfmap.foundations.definitions import Layer, Row, map_layer
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.store import change_log, geopackage
from turfmap.store.change_log import Entry

MOST_LISTED = 50


class ChangedSinceError(InputFaultsError):
    """Raised when a row is no longer as the change to be undone left it."""


class NothingToUndoError(Exception):
    """Raised when the log holds no change that is still to be undone."""


def changes(path: Path, *, limit: int = MOST_LISTED) -> list[dict[str, Any]]:
    """Return the newest changes of a place, newest first.

    Returns
    -------
    list of dict
        ``change`` (its number), ``at``, ``who`` (None: another program), ``undoes`` (a number or
        None), and ``rows``: how many of which ``layer`` by which ``operation``.
    """
    with geopackage.reading(path) as connection:
        return change_log.changes(connection, limit=limit)


def undo(path: Path, *, change: int | None = None, who: str) -> dict[str, Any]:
    """Undo a change, or the newest that has not been undone; all its rows or none.

    Parameters
    ----------
    path
        The place.
    change
        Its number; undoing a change that undid another does that one again.
    who
        Which door asked for it.

    Returns
    -------
    dict
        ``undone`` (a number), ``change`` (the new one) and ``results``: ``layer``, ``id`` and
        ``etag`` (None: it is gone) of each row.

    Raises
    ------
    NothingToUndoError
        If there is none.
    InputFaultsError
        If there is no change of that number.
    ChangedSinceError
        If a row has changed since.
    RefusedError
        If a name that would go is on record.
    """
    number = change if change is not None else _newest(path)
    with geopackage.editing(path, who=who, undoes=number) as connection:
        entry = change_log.last_entry(connection)
        entries = change_log.entries_of(connection, number)
        if not entries:
            raise input_fault(
                f"there is no change {number} in its log",
                "choose one that turfmap undo --list shows",
                file=str(path),
            )
        renamed: list[tuple[Layer, Row, Row]] = []
        for one in reversed(entries):
            _check_untouched(connection, one, path)
            renamed += _names_replaced(connection, one)
            _restore(connection, one, path)
        carry_names(connection, renamed)
        for name in {one.layer for one in entries}:
            geopackage.tell_contents(connection, map_layer(name))
        results = _results(connection, entries, path)
        new = change_log.number_since(connection, entry, who=who, undoes=number)
    return {"undone": number, "change": new, "results": results}


def _newest(path: Path) -> int:
    with geopackage.reading(path) as connection:
        number = change_log.newest_to_undo(connection)
    if number is None:
        raise NothingToUndoError
    return number


def _check_untouched(connection: sqlite3.Connection, one: Entry, path: Path) -> None:
    if change_log.state_now(connection, one) != change_log.state_after(connection, one):
        raise _changed_since(one, path)


def _changed_since(one: Entry, path: Path) -> ChangedSinceError:
    row = f"{one.layer} {one.row_id or one.row_fid}"
    problem = f"a row of change {one.change} ({row}) has changed since"
    return ChangedSinceError([Fault(str(path), "", problem, "undo the later change first")])


def _names_replaced(connection: sqlite3.Connection, one: Entry) -> list[tuple[Layer, Row, Row]]:
    """Return the row as it stands and as it will be, if both are there."""
    now, _ = change_log.state_now(connection, one)
    if now is None or one.before is None:
        return []
    layer = map_layer(one.layer)
    return [(layer, now, change_log.row_values(one.before, layer))]


def _restore(connection: sqlite3.Connection, one: Entry, path: Path) -> None:
    try:
        change_log.restore(connection, one)
    except sqlite3.IntegrityError:
        raise _changed_since(one, path) from None


def _results(
    connection: sqlite3.Connection, entries: Sequence[Entry], path: Path
) -> list[dict[str, Any]]:
    """Return how each row of a change stands now."""
    rows = {(one.layer, one.row_fid): one for one in entries}
    results = []
    for (name, fid), one in rows.items():
        identity = change_log.identity_of(connection, one)
        told = identity and features.told_row(connection, map_layer(name), identity, file=str(path))
        results.append(
            {"layer": name, "id": identity or str(fid), "etag": told.etag if told else None}
        )
    return results
