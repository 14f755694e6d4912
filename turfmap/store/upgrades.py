"""Bring a place that an earlier turfmap made up to the present layout, a copy kept beside it."""

import sqlite3
from collections import defaultdict
from contextlib import suppress
from itertools import count
from pathlib import Path

from turfmap.foundations.definitions import Column, Layer, map_layers
from turfmap.foundations.errors import InputFaultsError, input_fault
from turfmap.store import change_log, geopackage_schema
from turfmap.store.geopackage_records import RECORDS, renew_guards
from turfmap.store.geopackage_schema import FORMAT_URI, FORMAT_VERSION, format_text
from turfmap.store.written_files import (
    clear,
    force_to_disk,
    move_unless_there,
    name_to_make_under,
)

COPY_ENDING = "before-upgrade"


def format_version(connection: sqlite3.Connection) -> int:
    """Return the number of a place's layout, 0 if none is told."""
    (text,) = connection.execute(
        "SELECT coalesce(max(metadata), '') FROM gpkg_metadata WHERE md_standard_uri = ?",
        (FORMAT_URI,),
    ).fetchone()
    number = text.rpartition(" ")[2]
    return int(number) if number.isdecimal() else 0


def upgrade(connection: sqlite3.Connection, path: Path, *, writable: bool) -> Path | None:
    """Bring a place up to the present layout in one transaction.

    Parameters
    ----------
    connection
        Open for writing, outside any transaction.
    path
        The place; the copy is made in its folder, under a name that is not taken.
    writable
        Whether the place may be written to.

    Returns
    -------
    Path or None
        The copy as it was before; None if the layout was the present one.

    Raises
    ------
    InputFaultsError
        If it may not be written to, or the copy cannot be made; the place is as it was.
    sqlite3.Error
        If the place cannot be written to; it is as it was.
    """
    if _is_present(connection):
        return None
    if not writable:
        raise _refused(path, "it may not be written to")
    connection.execute("BEGIN IMMEDIATE")
    copy = None
    try:
        if not _is_present(connection):  # nobody else did it meanwhile
            copy = _copy_beside(path)
            _bring_up_to_date(connection)
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:  # SQLite itself ends one that meets a full disk
            connection.execute("ROLLBACK")
        if copy is not None:
            copy.unlink(missing_ok=True)
        raise
    return copy


def _is_present(connection: sqlite3.Connection) -> bool:
    return format_version(connection) >= FORMAT_VERSION and not _missing_columns(connection)


def _missing_columns(connection: sqlite3.Connection) -> list[tuple[Layer, Column]]:
    """Return what layers have gained since the place was made.

    (SQLite would read a quoted name that is no column as a text.)
    """
    found = connection.execute(
        "SELECT tables.name, columns.name FROM sqlite_master AS tables,"
        " pragma_table_info(tables.name) AS columns WHERE tables.type = 'table'"
    )
    there: dict[str, set[str]] = defaultdict(set)
    for table, column in found:
        there[table].add(column)
    return [
        (layer, column)
        for layer in map_layers().values()
        if layer.name in there
        for column in layer.columns.values()
        if column.name not in there[layer.name]
    ]


def _bring_up_to_date(connection: sqlite3.Connection) -> None:
    names = {name for (name,) in connection.execute("SELECT name FROM sqlite_master")}
    version = format_version(connection)
    for layer in map_layers().values():
        if layer.name not in names:
            geopackage_schema.add_layer(connection, layer)
    gained = map_layers().keys() - names
    for layer, column in _missing_columns(connection):
        geopackage_schema.add_column(connection, layer, column)
        gained.add(layer.name)
    if RECORDS in gained:
        renew_guards(connection, map_layers()[RECORDS])
    if change_log.TABLE not in names:
        change_log.add_change_log(connection)
    else:
        # In layout 2 the log joined changes of days when the clock had been put back.
        all_of_them = {layer.name for layer in change_log.logged_layers()}
        change_log.renew_triggers(connection, all_of_them if version < 3 else gained)
    connection.execute(
        "UPDATE gpkg_metadata SET metadata = ? WHERE md_standard_uri = ?",
        (format_text(), FORMAT_URI),
    )


def _copy_beside(path: Path) -> Path:
    """Copy the place while another connection of ours keeps others from writing to it.

    (Read through SQLite: closing the file opened in any other way would drop that lock.)
    """
    making = name_to_make_under(path)
    try:
        clear(making)
        source = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)
        target = sqlite3.connect(making, isolation_level=None)
        try:
            target.execute("PRAGMA journal_mode = OFF")
            source.backup(target)
        finally:
            target.close()
            source.close()
        force_to_disk(making)
        for number in count(1):
            more = "" if number == 1 else f"-{number}"
            copy = path.with_name(f"{path.stem}.{COPY_ENDING}{more}{path.suffix}")
            with suppress(FileExistsError):
                move_unless_there(making, copy)
                return copy
        raise AssertionError("names never run out")
    except (OSError, sqlite3.Error) as error:
        raise _refused(path, f"no copy can be kept beside it ({error})") from None
    finally:
        with suppress(OSError):
            making.unlink(missing_ok=True)


def _refused(path: Path, why: str) -> InputFaultsError:
    return input_fault(
        f"an earlier turfmap made it and it must be brought up to date once, but {why}",
        "allow writing in its folder, or work on a copy elsewhere",
        file=str(path),
    )
