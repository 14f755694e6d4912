"""The figures of the user's product book that hold for an application still to come.

Which product will be used is not known: of those in the book that hold an active ingredient the
strictest counts, where it is stricter than the reference table. The label in hand beats both.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from turfmap.foundations.definitions import Row
from turfmap.season.rules import Book, Rules, listed

COLUMNS = ("air_high_f", "reseed_wk")


@dataclass(frozen=True)
class Figure:
    """A figure, and in words whose it is if not the reference table's; None if there is none."""

    value: float | None
    by: str = ""


def book_of(products: Sequence[Mapping[str, Any]]) -> Book:
    """Return the figures of products by active ingredient and column, each with its product."""
    found: dict[tuple[str, str], tuple[tuple[str, float | None], ...]] = {}
    for row in products:
        for active in listed(row["active_ingredients"]):
            for column in COLUMNS:
                said = (str(row["name"]), row.get(column))
                found[active, column] = (*found.get((active, column), ()), said)
    return found


def air_max_f(facts: Row, rules: Rules) -> Figure:
    """Return the air temperature above which an active ingredient is not used [degF]."""
    figures = [Figure(facts["air_max_f"]), *_said(facts, "air_high_f", rules)]
    return min(figures, key=lambda one: float("inf") if one.value is None else one.value)


def wait_before_seed_wk(facts: Row, rules: Rules) -> Figure:
    """Return the wait before seed [weeks]; None if table and book leave it open."""
    said = _said(facts, "reseed_wk", rules)
    if facts["reseed_wk"] is None:
        products = rules.book.get((facts["active_ingredient"], "reseed_wk"), ())
        if not said or len(said) < len(products):
            return Figure(None)  # one whose label nobody entered may be the one that is used
    figures = [Figure(facts["reseed_wk"]), *said]
    return max(figures, key=lambda one: -1.0 if one.value is None else one.value)


def _said(facts: Row, column: str, rules: Rules) -> list[Figure]:
    said = rules.book.get((facts["active_ingredient"], column), ())
    return [
        Figure(float(value), f" (your product book, {product})")
        for product, value in said
        if value is not None
    ]
