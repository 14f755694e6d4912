"""A property or zone that gets another name takes along what is known under the old one.

Zones and clients' answers are renamed with it. Records of visits never change, so a name that they
know stays: under another one the history, and the limits that count it, would be lost from sight.
"""

import sqlite3
from collections.abc import Iterable, Mapping

from turfmap.desk.edit_faults import FaultRow, RefusedError, plain_fault
from turfmap.foundations.definitions import Layer, Row
from turfmap.store.geopackage_records import RECORDS
from turfmap.store.named_rows import count_named, rename

ANSWERS = "client_answer"
# What the rows of a layer are called in other tables, by its own columns.
_CALLED = {"property": {"name": "property"}, "zone": {"property": "property", "name": "zone"}}
# Where they are called so, besides the records.
_CALLERS = {"property": ("zone", ANSWERS, "overlay"), "zone": (ANSWERS,)}


def carry_names(connection: sqlite3.Connection, replaced: Iterable[tuple[Layer, Row, Row]]) -> None:
    """Rename what names a row by its old name, after the row itself has been changed.

    Parameters
    ----------
    connection
        Inside the transaction that changed the rows.
    replaced
        Layer, values before and values now of each changed row.

    Raises
    ------
    RefusedError
        If a visit is on record under a name that is to go.
    """
    faults: list[FaultRow] = []
    for layer, before, now in replaced:
        old, new = _called(layer, before), _called(layer, now)
        if old is None or new is None or old == new:
            continue
        visits = count_named(connection, RECORDS, old)
        if visits:
            faults.append(_on_record(layer, old, visits))
        for table in _CALLERS[layer.name]:
            rename(connection, table, old, new)
    if faults:
        raise RefusedError(faults)


def _called(layer: Layer, values: Row) -> Mapping[str, object] | None:
    columns = _CALLED.get(layer.name)
    if columns is None or any(not values.get(name) for name in columns):
        return None
    return {called: values[name] for name, called in columns.items()}


def _on_record(layer: Layer, old: Mapping[str, object], visits: int) -> FaultRow:
    named = " / ".join(map(str, old.values()))
    return plain_fault(
        f"{visits} rows of visits are on record for the {layer.name} {named}, and records never"
        " change",
        "keep the name, so that its history counts, and write the new one into its notes",
        "definition",
        column="name",
    )
