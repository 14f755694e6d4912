"""A user's own rows of reference tables: the label in hand beats the table that is shipped."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from turfmap.desk.import_batch import Source
from turfmap.desk.import_columns import raw_rows
from turfmap.foundations.checks import as_text, checked_rows
from turfmap.foundations.definitions import Column, Row, Table, table
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.season.rule_faults import faults_of
from turfmap.season.rules import Rules, rules_with
from turfmap.store import geopackage
from turfmap.store.foreign.reading import read_foreign
from turfmap.store.geopackage_reference import put_own_rows, read_own_rows

OWN_SOURCE, OWN_HOW_READ = "your own row", "own"


def own_rows(path: Path) -> dict[str, list[Row]]:
    """Return the user's own rows of reference tables, by table.

    Raises
    ------
    InputFaultsError
        If another program wrote something into them that does not fit.
    """
    own: dict[str, list[Row]] = {}
    faults: list[Fault] = []
    raw = read_own_rows(path)
    added = {name: _first(name, rows) for name, rows in raw.items()}
    for name, mine in raw.items():
        # A row may name what another table's own rows add.
        layer = widened(table(name), added)
        records = [f"{name} {row['fid']}" for row in mine]
        rows, found = checked_rows(mine, layer, file=str(path), records=records)
        faults += [fault for each in found for fault in each]
        own[name] = rows
    if faults:
        raise InputFaultsError(faults)
    return own


def own_table(path: Path, name: str) -> Table:
    """Return a reference table with the user's own rows over the shipped ones."""
    return table(name).overridden(own_rows(path).get(name, []))


def bring_in_rows(
    path: Path, source: Source, *, table_name: str, keep_good: bool = False
) -> dict[str, Any]:
    """Import a file as own rows of a reference table; they replace shipped ones of the same key.

    Parameters
    ----------
    path
        The place.
    source
        What to import.
    table_name
        The reference table.
    keep_good
        Whether to import the good rows and leave the others out.

    Returns
    -------
    dict
        As of `turfmap.desk.bring_in.bring_in`.

    Raises
    ------
    InputFaultsError
        With every fault of the file; nothing has been written.
    """
    file = str(source.file)
    foreign = read_foreign(source.file, crs=source.crs, layer=source.layer)
    before = own_rows(path)
    layer = widened(table(table_name), {name: _first(name, rows) for name, rows in before.items()})
    raw, notes = raw_rows(foreign.rows, layer, source.columns, file=file)
    if not raw:
        raise input_fault("it holds no records", "choose another file", file=file)
    told = {"source": OWN_SOURCE, "how_read": OWN_HOW_READ}
    told = {name: value for name, value in told.items() if name in layer.columns}
    raw = [told | {name: value for name, value in row.items() if as_text(value)} for row in raw]
    rows, faults = checked_rows(raw, layer, file=file, records=foreign.records)
    _add_twin_faults(layer, rows, faults, file=file, records=foreign.records)
    _add_faults(table_name, rows, faults, before, file=file, records=foreign.records)
    good = [not mine for mine in faults]
    told_faults = [fault for mine in faults for fault in mine]
    if told_faults and not (keep_good and any(good)):
        raise InputFaultsError(told_faults)
    kept = [row for row, keep in zip(rows, good, strict=True) if keep]
    with geopackage.editing(path) as connection:
        put_own_rows(connection, table(table_name), kept)
    return {
        "file": file,
        "layer": table_name,
        "added": len(kept),
        "left_out": len(rows) - len(kept),
        "answers": 0,
        "notes": [*notes, *foreign.notes, _note(table_name, kept)],
        "repairs": [],
        "faults": [str(fault) for fault in told_faults],
    }


def _note(table_name: str, rows: Sequence[Row]) -> str:
    shipped = table(table_name)
    keys = {tuple(row[name] for name in shipped.key) for row in shipped.rows}
    over = sum(tuple(row[name] for name in shipped.key) in keys for row in rows)
    return f"{over} of them stand in place of rows that turfmap ships; the others are new."


def _add_twin_faults(
    layer: Table,
    rows: list[Row],
    faults: list[list[Fault]],
    *,
    file: str,
    records: Sequence[str],
) -> None:
    """Add a fault to each row of a key that an earlier row has: only one of them could count."""
    seen: set[tuple[Any, ...]] = set()
    for row, mine, record in zip(rows, faults, records, strict=True):
        if mine:
            continue
        key = tuple(row[name] for name in layer.key)
        if key in seen:
            problem = f"{' / '.join(map(str, key))} is in the file twice"
            mine.append(Fault(file, record, problem, "leave one of them out"))
        seen.add(key)


def _add_faults(
    table_name: str,
    rows: list[Row],
    faults: list[list[Fault]],
    before: Mapping[str, list[Row]],
    *,
    file: str,
    records: Sequence[str],
) -> None:
    """Add what is wrong with rows beside others: names that are not known, half a window."""
    if table_name not in Rules.__dataclass_fields__:
        return
    sound = [row for row, mine in zip(rows, faults, strict=True) if not mine]
    rules = rules_with({**before, table_name: [*before.get(table_name, []), *sound]})
    found = iter(faults_of(table_name, sound, rules))
    for record, mine in zip(records, faults, strict=True):
        problem = None if mine else next(found)
        if problem:
            mine.append(Fault(file, record, problem, "correct it in the file"))


def _first(name: str, rows: Sequence[Mapping[Any, Any]]) -> list[str]:
    """Return the first column of own rows, whose values other tables may name."""
    first = next(iter(table(name).columns))
    return [str(row[first]) for row in rows]


def widened(layer: Table, own: Mapping[str, Sequence[str]]) -> Table:
    """Return a table whose allowed values include what own rows of other tables add."""
    added = {_values(table(name)): tuple(values) for name, values in own.items() if values}

    def wide(column: Column) -> Column:
        more = added.get(column.one_of, ()) if column.one_of else ()
        return replace(column, one_of=tuple(dict.fromkeys([*column.one_of, *more])))

    columns = {name: wide(column) for name, column in layer.columns.items()}
    return replace(layer, columns=columns)


def _values(found: Table) -> tuple[str, ...]:
    first = next(iter(found.columns))
    return tuple(dict.fromkeys(str(row[first]) for row in found.rows))
