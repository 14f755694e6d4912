"""Whose column is whose: the columns of a file made into the columns of a layer."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from turfmap.foundations.checks import as_text
from turfmap.foundations.definitions import Layer, table
from turfmap.foundations.errors import Fault, InputFaultsError

# What may stand beside an answer: the day that is planned or was done, when it was said, by whom.
ANSWER_FACTS = ("date", "answered_on", "told_by")
# The layers whose files may carry answers; anywhere else such a column is just a column.
ANSWERED = frozenset({"zone", "property", "client_answer"})


@dataclass(frozen=True)
class Columns:
    """How the user wants columns read.

    Attributes
    ----------
    renamed
        Their name to ours.
    fixed
        Our name to the value that every record gets.
    """

    renamed: Mapping[str, str] = field(default_factory=dict)
    fixed: Mapping[str, str] = field(default_factory=dict)


def raw_rows(
    rows: Sequence[Mapping[str, Any]], layer: Layer, columns: Columns, *, file: str
) -> tuple[list[dict[str, Any]], list[str]]:
    """Return rows under our column names, and notes on what was left aside.

    Names match whatever their case. In files of `ANSWERED` layers, columns named after a
    question of the table ``question`` are kept as they are, for `answers_within`.

    Raises
    ------
    InputFaultsError
        If a renamed column is not in the file, or there is no such column to rename to or fix.
    """
    theirs = list(dict.fromkeys(name for row in rows for name in row))
    questions = set(table("question").by("question")) if layer.name in ANSWERED else set()
    ours = {*layer.columns, *questions}
    if questions & {*(name.lower() for name in theirs), *columns.renamed.values(), *columns.fixed}:
        ours |= set(ANSWER_FACTS)
    _check_names(theirs, ours, columns, file=file)
    takes = {name: name.lower() for name in theirs if name.lower() in ours}
    takes |= dict(columns.renamed)
    taken = set(columns.renamed.values()) | set(columns.fixed)
    takes = {
        their: our for their, our in takes.items() if their in columns.renamed or our not in taken
    }
    out = [
        {our: row.get(their) for their, our in takes.items()} | dict(columns.fixed) for row in rows
    ]
    unused = sorted(set(theirs) - takes.keys())
    notes = [f"Columns not used: {', '.join(unused[:20])}."] if unused else []
    return out, notes


def _check_names(theirs: Sequence[str], ours: set[str], columns: Columns, *, file: str) -> None:
    faults = [
        Fault(file, f"--map {their}=", f"the file has no column {their!r}", _choices(theirs))
        for their in columns.renamed
        if their not in theirs
    ]
    faults += [
        Fault("", f"{option} {name}", f"there is no column {name!r}", _choices(sorted(ours)))
        for option, names in (("--map", columns.renamed.values()), ("--set", columns.fixed))
        for name in names
        if name not in ours
    ]
    if faults:
        raise InputFaultsError(faults)


def _choices(names: Sequence[str]) -> str:
    return f"choose one of {', '.join(names[:30])}" if names else "there are none"


def with_names(
    rows: Sequence[Mapping[str, Any]], layer: Layer, *, taken: set[str]
) -> tuple[list[dict[str, Any]], int]:
    """Give a name to every row that has none: people must be able to speak of it.

    Returns
    -------
    rows : list of dict
        With a name each, such as "zone 3".
    given : int
        How many had none.
    """
    used = set(taken) | {as_text(row.get("name")) for row in rows}
    out, given, number = [], 0, 0
    for row in rows:
        name = as_text(row.get("name"))
        if not name:
            given += 1
            while not name or name in used:
                number += 1
                name = f"{layer.name.replace('_', ' ')} {number}"
            used.add(name)
        out.append({**row, "name": name})
    return out, given


def is_made_up(name: object, layer: Layer) -> bool:
    """Return whether a name may be one that `with_names` gave, and so says nothing."""
    words, _, number = as_text(name).rpartition(" ")
    return words == layer.name.replace("_", " ") and number.isdecimal()


def answers_within(
    rows: Sequence[Mapping[str, Any]], *, told_by: str
) -> list[tuple[int, dict[str, Any]]]:
    """Take client answers out of rows that carry them as columns named after the question.

    A zone file with a column ``overseeding`` says what was answered for each zone; the day that
    is planned, if any, stands in a column ``date``.

    Returns
    -------
    list of (int, dict)
        Which row it came from, and the raw row for the layer ``client_answer``, still without
        its property and zone.
    """
    return [
        (
            index,
            {"told_by": told_by}
            | {fact: row[fact] for fact in ANSWER_FACTS if as_text(row.get(fact))}
            | {"question": question, "answer": row[question]},
        )
        for index, row in enumerate(rows)
        for question in table("question").by("question")
        if as_text(row.get(question))
    ]
