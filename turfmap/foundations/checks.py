"""Rows against their declaration: every fault found, none repaired in silence."""

import math
import unicodedata
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

from turfmap.foundations.definitions import Column, Layer, Row, parsed
from turfmap.foundations.errors import Fault

LONGEST_TEXT = 2_000


def checked_rows(
    raw_rows: Sequence[Mapping[str, Any]],
    layer: Layer,
    *,
    file: str,
    records: Sequence[str],
) -> tuple[list[Row], list[list[Fault]]]:
    """Read raw values as a layer declares its columns.

    Parameters
    ----------
    raw_rows
        One mapping a record; values are text, numbers, dates or None. Columns that the layer
        does not declare are ignored.
    layer
        The declaration.
    file
        The file as the user named it.
    records
        How to name each record in a fault ("record 3").

    Returns
    -------
    rows : list of dict
        A value for every declared column, None where there is none.
    faults : list of list of Fault
        What is wrong with each record; empty lists where nothing is.
    """
    rows: list[Row] = []
    faults: list[list[Fault]] = []
    for raw, record in zip(raw_rows, records, strict=True):
        row, problems = _checked(raw, layer)
        rows.append(row)
        faults.append([Fault(file, record, problem, mend) for problem, mend in problems])
    return rows, faults


def _checked(raw: Mapping[str, Any], layer: Layer) -> tuple[Row, list[tuple[str, str]]]:
    row: Row = {}
    problems = []
    for name, column in layer.columns.items():
        row[name] = None
        text = as_text(raw.get(name))
        if not text:
            if column.required:
                problems.append((f"{name} is missing", _mend(column)))
            continue
        if len(text) > LONGEST_TEXT:
            problems.append((f"{name} is longer than {LONGEST_TEXT:,} characters", "shorten it"))
            continue
        try:
            row[name] = parsed(text, column)
        except ValueError as error:
            problem = str(error)
            if name not in problem:
                problem = f"{name} is {text!r}, which is not a {column.type.replace('_', ' ')}"
            problems.append((problem, "correct it in the file"))
    return row, problems


def as_text(value: object) -> str:
    """Return a raw value as the text that a person would have typed; nothing is ''."""
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return ""  # NaN is how frames say "nothing"
    if hasattr(value, "isoformat") and str(value) == "NaT":
        return ""  # and this is how they say "no day"; it claims to be a date
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        is_plain_date = (value.hour, value.minute, value.second) == (0, 0, 0)
        return value.date().isoformat() if is_plain_date else value.isoformat()
    if isinstance(value, date):
        return value.isoformat()
    # A no-break space and its kin part words like any other.
    text = "".join(" " if unicodedata.category(c)[0] == "Z" else c for c in str(value))
    # Control characters and lone surrogates cannot be stored or shown.
    text = "".join(c for c in text if c.isprintable() or c in "\n\t")
    return text.encode("utf-8", "ignore").decode("utf-8").strip()


def _mend(column: Column) -> str:
    example = column.one_of[0] if column.one_of else "VALUE"
    return f"give that column, or the same for all with --set {column.name}={example}"
