"""Which field of a form a fault of a record belongs to, in words for somebody at a page."""

import re
from collections.abc import Iterable, Mapping
from typing import Any

from turfmap.desk.record_form import COLUMN_OF
from turfmap.foundations.definitions import table
from turfmap.foundations.errors import Fault

# How a fault begins that is about one field and does not name its column.
_BEGINNINGS = {
    "there is no property": "property",
    "the amount": "amount",
    "there is an amount": "product",
    "the area": "area",
    "the wind": "wind",
    "the temperature": "air",
    "it ended at": "end",
    "it has no reason": "reason",
    "nothing of these zones": "zones",
    "there is no product": "product",
    "zones is": "zones",
}
_CONTAINS = {
    " has no zone ": "zones",
    " is not a day of work": "date",
    " is more than its zones have": "area",
    " is absurd": "amount",
    " is not a product": "product",
}
# What is mended by another option at a terminal, and by what on a page.
_MENDS = {
    "give it, or keep the record as it is with --unfinished": (
        "give it, or tick “Keep it unfinished”"
    ),
    "look at turfmap area, and give --area if it was treated": (
        "choose other zones, or give the area if it was treated"
    ),
    "see --list": "see the records on this page",
    "correct the record that took its place: see --list": (
        "correct the record that took its place, in the list on this page"
    ),
}


def on_fields(faults: Iterable[Fault]) -> list[dict[str, Any]]:
    """Return faults with the field that each is shown at.

    Parameters
    ----------
    faults
        Of `turfmap.desk.record.record` or a correction.

    Returns
    -------
    list of dict
        ``field`` (a fact of `turfmap.desk.record_asked.SAID`, or None if it is about the whole
        record), ``problem``, ``mend``.
    """
    return [
        {"field": field_of(one.problem), "problem": _said(one.problem), "mend": _mend(one.mend)}
        for one in faults
    ]


def field_of(problem: str) -> str | None:
    """Return the field that a problem is about; None if it is about the whole record."""
    element = _elements().get(problem.partition(" is missing (")[0])
    by_column = {column: fact for fact, column in COLUMN_OF.items()}
    if element is not None:
        return by_column.get(element)
    begun = next((of for words, of in _BEGINNINGS.items() if problem.startswith(words)), None)
    held = next((of for words, of in _CONTAINS.items() if words in problem), None)
    if begun or held:
        return begun or held
    first = problem.partition(" ")[0]
    return by_column.get(first) or (first if first in COLUMN_OF else None)


def _elements() -> Mapping[str, str]:
    return {row["words"]: row["element"] for row in table("record_rule").rows}


def _said(problem: str) -> str:
    """Say a column's name as words."""
    return re.sub(r"^[a-z]+(_[a-z]+)+ ", lambda found: found[0].replace("_", " "), problem)


def _mend(mend: str) -> str:
    return re.sub(
        r"correct it with --correct \S+",
        "look at it in the list on this page, and correct it there",
        _MENDS.get(mend, mend),
    )
