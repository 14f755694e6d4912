"""Bring rows home by their identity: a branch that was split off, or a folder that was exported.

Three sides are compared, row by row: as it was at the split, as it is here, as it comes. What one
side changed counts; what both changed is a conflict, told and never guessed.
"""

import sqlite3
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from turfmap.foundations.checks import LONGEST_TEXT, checked_rows
from turfmap.foundations.definitions import Layer, map_layers
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.store import geopackage
from turfmap.store.branch_file import Digests, branch_of, remember, remembered
from turfmap.store.geopackage_records import RECORDS
from turfmap.store.geopackage_reference import layer_made
from turfmap.store.kept_rows import (
    KeptRow,
    columns_of,
    is_reference,
    kept_layers,
    kept_rows,
    key_of,
    put_in,
    put_in_place_of,
    take_out,
)

REFUSE, KEEP, TAKE = "refuse", "keep", "take"
# What may be done with a row that both sides changed.
CHOICES = (REFUSE, KEEP, TAKE)
MOST_TOLD = 20


@dataclass
class Homecoming:
    """What is to be done with the rows of one layer.

    Attributes
    ----------
    added, replaced, removed
        Rows to write, rows by the number of the one that they replace, and numbers to remove.
    seen
        Each row that came, by identity, and the digest to remember it by.
    conflicts
        Rows that both sides changed: what they are and what happened.
    settled
        Those of them that were settled as the user chose.
    """

    added: list[KeptRow] = field(default_factory=list)
    replaced: list[tuple[int, KeptRow]] = field(default_factory=list)
    removed: list[int] = field(default_factory=list)
    seen: dict[str, str | None] = field(default_factory=dict)
    conflicts: list[tuple[str, str]] = field(default_factory=list)
    settled: int = 0


def merge_branch(path: Path, branch: Path, *, both_changed: str = REFUSE) -> dict[str, Any]:
    """Bring what was changed in a branch home.

    Parameters
    ----------
    path
        The place that it was split off from.
    branch
        The branch; it is only read.
    both_changed
        What to do with rows that were changed here as well: one of `CHOICES`. ``keep`` leaves them
        as they are here, ``take`` takes the branch's; undo brings the others back.

    Returns
    -------
    dict
        ``branch``, and how many rows were ``added``, ``replaced``, ``removed`` and ``settled``,
        by layer.

    Raises
    ------
    InputFaultsError
        If it is no branch, a row needs mending, or rows are in conflict: nothing is written.
    """
    with geopackage.reading(branch) as connection:
        about = branch_of(connection, file=str(branch))
        layers = kept_layers(connection)
        theirs = {layer.name: kept_rows(connection, layer) for layer in layers}
        systems = _systems(connection, file=str(branch))
    with geopackage.editing(path, who=f"branch {about.name}") as connection:
        _check_systems(systems, _systems(connection, file=str(path)), file=str(branch))
        base = _laid_over(about.digests, remembered(connection, about.identity))
        done = merge_rows(connection, theirs, base, file=str(branch), both_changed=both_changed)
        remember(connection, about.identity, _since(about.digests, done))
    return {"branch": about.name, **counts(done)}


def counts(done: Mapping[str, Homecoming]) -> dict[str, dict[str, int]]:
    """Return how many rows of each layer were added, replaced, removed and settled."""
    told = {
        "added": {name: len(one.added) for name, one in done.items()},
        "replaced": {name: len(one.replaced) for name, one in done.items()},
        "removed": {name: len(one.removed) for name, one in done.items()},
        "settled": {name: one.settled for name, one in done.items()},
    }
    return {what: {name: n for name, n in mine.items() if n} for what, mine in told.items()}


def merge_rows(
    connection: sqlite3.Connection,
    theirs: Mapping[str, Sequence[KeptRow]],
    base: Digests,
    *,
    file: str,
    both_changed: str,
) -> dict[str, Homecoming]:
    """Bring rows home inside the caller's transaction.

    Parameters
    ----------
    theirs
        Every row that comes, by layer.
    base
        Digests as of the split: a row that is there and does not come was removed. None of a
        row that had been removed.
    file
        Where they come from, for messages.
    both_changed
        One of `CHOICES`.

    Raises
    ------
    InputFaultsError
        With every row that needs mending or is in conflict.
    """
    done: dict[str, Homecoming] = {}
    faults: list[Fault] = []
    for name, rows in theirs.items():
        layer = layer_made(connection, name)
        ours = kept_rows(connection, layer)
        found = _compared(layer, ours, rows, base.get(name, {}), both_changed)
        faults += _faults(layer, found, file)
        faults += _corrected_twice(layer, ours, found, file)
        done[name] = found
    if faults:
        raise InputFaultsError(faults)
    for name, found in done.items():
        _write(connection, layer_made(connection, name), found)
    _check_keys(connection, done, file=file)
    return done


def _compared(
    layer: Layer,
    ours: Sequence[KeptRow],
    theirs: Sequence[KeptRow],
    base: Mapping[str, str | None],
    both_changed: str,
) -> Homecoming:
    found = Homecoming()
    here = {row.identity: row for row in ours}
    ours_digest = {row.identity: row.digest() for row in ours}
    twins = _Twins(layer, ours)
    for row in theirs:
        now, then = row.digest(), base.get(row.identity)
        found.seen[row.identity] = now
        mine, mine_now = here.get(row.identity), ours_digest.get(row.identity)
        if now in {mine_now, then}:
            continue  # the same here, or unchanged there: what is here is as new or newer
        if mine is not None and mine_now == then:
            _replaced(layer, found, mine, row)
        elif mine is None and then is None:
            _added(layer, found, row, twins, both_changed)
        else:
            what = "changed there and removed here" if mine is None else "changed on both sides"
            _settled(layer, found, mine, row, (what, both_changed))
    for identity in base.keys() - found.seen.keys():
        found.seen[identity] = None
        if base[identity] is None or identity not in here:
            continue
        if ours_digest[identity] == base[identity] and layer.name != RECORDS:
            found.removed.append(here[identity].fid)
        else:
            what = "removed there" if layer.name == RECORDS else "removed there and changed here"
            _settled(layer, found, here[identity], None, (what, both_changed))
    return found


class _Twins:
    """Rows that are the same thing under another identity: nothing is doubled."""

    def __init__(self, layer: Layer, ours: Sequence[KeptRow]) -> None:
        self._layer = layer
        self._by_name = {key_of(layer, row.values): row for row in ours} if layer.key else {}
        self._alike = set() if layer.key else {row.digest() for row in ours}

    def has_equal(self, row: KeptRow) -> bool:
        """Tell whether an equal row is there; of a layer with a key, one of the same key."""
        twin = self.named_as(row)
        return twin.digest() == row.digest() if twin else row.digest() in self._alike

    def named_as(self, row: KeptRow) -> KeptRow | None:
        """Return the row of the same key, if the layer has one."""
        return self._by_name.get(key_of(self._layer, row.values)) if self._by_name else None


def _added(layer: Layer, found: Homecoming, row: KeptRow, twins: _Twins, both_changed: str) -> None:
    if twins.has_equal(row):
        return
    twin = twins.named_as(row)
    if twin is None:
        found.added.append(row)
    else:
        _settled(layer, found, twin, row, ("another one here has its name", both_changed))


def _replaced(layer: Layer, found: Homecoming, mine: KeptRow, row: KeptRow) -> None:
    if layer.name == RECORDS:
        what = "a record was changed there, and records never are: correct it by a new one"
        found.conflicts.append((_words(layer, row), what))
    else:
        found.replaced.append((mine.fid, row))


def _settled(
    layer: Layer,
    found: Homecoming,
    mine: KeptRow | None,
    row: KeptRow | None,
    how: tuple[str, str],
) -> None:
    """Settle a conflict as the user chose, or note it."""
    what, choice = how
    if choice == REFUSE or layer.name == RECORDS:
        found.conflicts.append((_words(layer, row or mine), what))
        return
    found.settled += 1
    if choice == KEEP:
        return
    if row is None and mine is not None:
        found.removed.append(mine.fid)
    elif row is not None and mine is not None:
        found.replaced.append((mine.fid, row))
    elif row is not None:
        found.added.append(row)


def _words(layer: Layer, row: KeptRow | None) -> str:
    """Return how to name a row to a person."""
    assert row is not None  # noqa: S101 - one of the two sides has it
    names = columns_of(layer)
    shown = layer.key or tuple(n for n in ("property", "zone", "name", "question", "task", "date"))
    told = [str(row.values[names.index(n)]) for n in shown if n in names]
    return f"{layer.name.replace('_', ' ')} {' / '.join(one for one in told if one != 'None')}"


def _faults(layer: Layer, found: Homecoming, file: str) -> list[Fault]:
    """Return what is in conflict, and what of the rows to be written does not fit the layer."""
    mend = "settle it on one side, or choose with --both-changed keep or take"
    if layer.name == RECORDS:
        mend = "look at both files with turfmap record --list"
    told = [Fault(file, record, what, mend) for record, what in found.conflicts[:MOST_TOLD]]
    if len(found.conflicts) > MOST_TOLD:
        more = f"{len(found.conflicts) - MOST_TOLD:,} more rows are in conflict"
        told.append(Fault(file, layer.name, more, mend))
    if is_reference(layer):
        return told
    rows = [*found.added, *(row for _, row in found.replaced)]
    names = columns_of(layer)
    raw = [to_be_checked(dict(zip(names, row.values, strict=True)), layer) for row in rows]
    _, problems = checked_rows(raw, layer, file=file, records=[_words(layer, r) for r in rows])
    return told + [fault for mine in problems for fault in mine][:MOST_TOLD]


def to_be_checked(raw: Mapping[str, Any], layer: Layer) -> dict[str, Any]:
    """Return a row with what turfmap itself wrote into it, such as a picture, cut to a text."""
    long = {name for name, column in layer.columns.items() if column.measured}
    return {
        name: value[:LONGEST_TEXT] if name in long and isinstance(value, str) else value
        for name, value in raw.items()
    }


def _corrected_twice(
    layer: Layer, ours: Sequence[KeptRow], found: Homecoming, file: str
) -> list[Fault]:
    """Return which records both sides corrected: only a person knows which correction holds."""
    if layer.name != RECORDS:
        return []
    names = columns_of(layer)
    corrects, record = names.index("corrects"), names.index("record")
    by = {row.values[corrects]: row.values[record] for row in ours if row.values[corrects]}
    return [
        Fault(
            file,
            _words(layer, row),
            f"the record {row.values[corrects]} was corrected on both sides",
            "correct the correction in one of them, and bring that home",
        )
        for row in found.added
        if row.values[corrects] in by and by[row.values[corrects]] != row.values[record]
    ]


def _write(connection: sqlite3.Connection, layer: Layer, found: Homecoming) -> None:
    if found.removed:
        take_out(connection, layer, found.removed)
    if found.replaced:
        put_in_place_of(connection, layer, [(fid, row.values) for fid, row in found.replaced])
    if found.added:
        put_in(connection, layer, [row.values for row in found.added])


def _check_keys(
    connection: sqlite3.Connection, done: Mapping[str, Homecoming], *, file: str
) -> None:
    """Refuse what would leave two rows of one name: two that were renamed to it, say."""
    faults = []
    for name, found in done.items():
        layer = map_layers().get(name)
        if layer is None or not layer.key or not (found.added or found.replaced):
            continue
        written = {row.identity for row in (*found.added, *(row for _, row in found.replaced))}
        rows = kept_rows(connection, layer)
        often = Counter(key_of(layer, row.values) for row in rows)
        faults += [
            Fault(
                file,
                _words(layer, row),
                "another one here would have the same name",
                "rename one of them",
            )
            for row in rows
            if row.identity in written and often[key_of(layer, row.values)] > 1
        ]
    if faults:
        raise InputFaultsError(faults[:MOST_TOLD])


def _laid_over(split: Digests, since: Digests) -> Digests:
    """Return how the rows were at the split, or when they last came home."""
    return {name: {**split.get(name, {}), **since.get(name, {})} for name in {*split, *since}}


def _since(split: Digests, done: Mapping[str, Homecoming]) -> Digests:
    """Return the rows that are no longer as they were at the split."""
    return {
        name: {
            row: digest
            for row, digest in one.seen.items()
            if row not in split.get(name, {}) or split[name][row] != digest
        }
        for name, one in done.items()
    }


def _systems(connection: sqlite3.Connection, *, file: str) -> dict[str, Any]:
    return {
        layer.name: geopackage.crs_of(connection, layer, file)
        for layer in map_layers().values()
        if layer.geometry
    }


def _check_systems(theirs: Mapping[str, Any], ours: Mapping[str, Any], *, file: str) -> None:
    for name, crs in theirs.items():
        if crs != ours[name]:
            raise input_fault(
                f"its coordinates are in {crs.name}, and those here in {ours[name].name}",
                "save its layer in the same system first",
                file=file,
                record=f"layer {name}",
            )
