"""What is known when a zone is about to be treated, and what one condition finds in it.

What is not known is None, and stays so: it is asked for, never taken for good.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from typing import Any

from turfmap.days.answers import UNKNOWN, answers_for
from turfmap.days.mixes import Book
from turfmap.days.products import Product
from turfmap.foundations.definitions import Row
from turfmap.season.answered import Answer

GO, MIND, WAIT, NO = "go", "mind", "wait", "no"
SPREADER, MIST = "spreader", "mist"
METHODS = ("boom", "handheld", MIST, SPREADER)
USUAL_ARC_DEG = 45.0
TELL = "Tell what is asked; then it is judged."


@dataclass(frozen=True)
class Conditions:
    """What is given for one run; None where nobody said.

    Attributes
    ----------
    on
        When the work is to be done, by the clock of the place.
    wind_mph, gust_mph
        Wind and gusts [mph].
    wind_from_deg
        Where the wind comes from, clockwise from north [deg]; None also where it is variable.
    droplet
        A row of the table droplet.
    air_f
        Air temperature [degF].
    nozzle_height_in
        Height of the nozzles above the grass [in].
    dry_h
        Hours for which no rain is forecast, from `on` [h].
    inversion
        ``none`` or ``suspected``, as somebody on the spot sees it.
    method
        One of `METHODS`.
    arc_deg
        How far the wind may swing, the full width [deg].
    school_notice_on
        When the notice to a school was given.
    """

    on: datetime | None = None
    wind_mph: float | None = None
    gust_mph: float | None = None
    wind_from_deg: float | None = None
    droplet: str | None = None
    air_f: float | None = None
    nozzle_height_in: float | None = None
    dry_h: float | None = None
    inversion: str | None = None
    method: str | None = None
    arc_deg: float | None = None
    school_notice_on: datetime | None = None

    @property
    def day(self) -> date | None:
        """The day of the work."""
        return None if self.on is None else self.on.date()


@dataclass(frozen=True)
class SeasonHold:
    """What the season holds against a product on a zone.

    Attributes
    ----------
    is_asked
        Whether it is a question and not a hold.
    """

    words: str
    is_asked: bool


@dataclass(frozen=True)
class Case:
    """All that one zone is judged by.

    Attributes
    ----------
    zone
        ``property, name, kind, species, treatable_m2, longitude, latitude`` [deg] and
        ``lost_words``, ``school`` ("on", "near" or ""), ``drawn`` (the categories of protected
        features on the map).
    product
        What is to be applied; without a row in the book it holds only its active ingredient.
    in_book
        Whether it is a product of the book.
    book
        Products, label rates, visits and answers.
    states
        The places whose rules hold at the property, the state first.
    surveyed_on
        When somebody last looked for what is protected.
    season
        What the season holds against it.
    tables
        The reference tables that are read, a user's own rows over the shipped ones, by name.
    """

    conditions: Conditions
    zone: Row
    product: Product
    book: Book
    tables: Mapping[str, Sequence[Row]]
    in_book: bool = True
    states: tuple[str, ...] = ()
    surveyed_on: date | None = None
    season: tuple[SeasonHold, ...] = ()

    @cached_property
    def answers(self) -> Mapping[str, Answer]:
        """The answers that count on the day, by question."""
        book, day = self.book, self.conditions.day
        return answers_for(self.zone, book.answers, book.visits, day)

    @property
    def works(self) -> frozenset[str]:
        """The sorts of work it is; what is not known to be spread is taken to be sprayed."""
        formulation, method = self.product.formulation, self.conditions.method
        is_granular = formulation is not None and formulation["applied"] == "spread"
        may_be = is_granular or (formulation is None and not self.product.is_liquid)
        is_spread = may_be if method == SPREADER else is_granular and method is None
        works = ["spread" if is_spread else "spray"] + ["fertilise"] * self.product.feeds
        return frozenset(works)

    @property
    def uses(self) -> frozenset[str | None]:
        """What its active ingredients are used for."""
        facts = self.book.known.actives
        return frozenset(facts[one.name]["use"] for one in self.product.actives)

    @property
    def turf_season(self) -> str | None:
        """The season of the zone's grass, or None."""
        row = self.row("turf_species", "species", self.zone["species"])
        return None if row is None else str(row["season"])

    def row(self, table: str, column: str, value: object) -> Row | None:
        """Return the row of a table with a value in a column, or None."""
        return next((row for row in self.tables[table] if row[column] == value), None)

    def answered(self, question: str) -> str:
        """Return the answer that counts on the day; ``not_asked`` where there is none."""
        return self.answers.get(question, UNKNOWN).answer


@dataclass(frozen=True)
class Finding:
    """What one condition finds.

    Attributes
    ----------
    row
        Of the table treat_condition.
    answer
        ``go``, ``mind``, ``wait`` or ``no``.
    is_asked
        Whether it lacks something, which `words` ask for.
    source, how_read, scope
        Of the figure that decided.
    """

    row: Row
    answer: str
    words: str
    is_asked: bool = False
    source: str = ""
    how_read: str = ""

    @property
    def would_change(self) -> str:
        """What would change it; nothing where it is met."""
        if self.answer == GO:
            return ""
        if self.is_asked and (self.row["given"] or self.row["question"]):
            return TELL
        return str(self.row["would_change"] or "")

    def as_plain(self) -> dict[str, Any]:
        """Return the finding as plain data."""
        return {
            "condition": self.row["condition"],
            "answer": self.answer,
            "is_asked": self.is_asked,
            "words": self.words,
            "would_change": self.would_change,
            "scope": self.row["scope"],
            "source": self.source or self.row["source"],
            "how_read": self.how_read or self.row["how_read"],
        }


def met(row: Row, case: Case, **facts: object) -> Finding:
    """Return that a condition is met."""
    return _finding(row, case, "passes", GO, facts)


def not_met(row: Row, case: Case, **facts: object) -> Finding:
    """Return that a condition is not met."""
    return _finding(row, case, "words", row["effect"], facts)


def asked(row: Row, case: Case, **facts: object) -> Finding:
    """Return that something is lacking; it waits, unless the condition only tells."""
    answer = MIND if row["effect"] == MIND else WAIT
    return _finding(row, case, "ask", answer, facts, is_asked=True)


def _finding(
    row: Row,
    case: Case,
    column: str,
    answer: str,
    facts: Mapping[str, object],
    *,
    is_asked: bool = False,
) -> Finding:
    told = {"given": "", "limit": "", "who": "", "product": case.product.name} | dict(facts)
    source, how_read = (str(told.get(name) or "") for name in ("source", "how_read"))
    words = str(row[column] or "").format(**told)
    return Finding(row, answer, words, is_asked, source, how_read)
