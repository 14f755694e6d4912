"""Visits on record: what they put down, what they may have put down, and what its label says."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from turfmap.season.rules import Rules, listed

Rows = Sequence[Mapping[str, Any]]


@dataclass(frozen=True)
class Label:
    """What the user's product book says of a product.

    Attributes
    ----------
    product
        Its name; empty if the product is not in the book.
    reseed_wk, retreat_d
        Weeks to wait before seed, days to the next application; None where not entered.
    annual_max
        Active ingredients with the most of each in a year [lb per acre].
    """

    product: str = ""
    reseed_wk: float | None = None
    retreat_d: float | None = None
    annual_max: tuple[tuple[str, float], ...] = ()

    @property
    def words(self) -> str:
        """Whose figure it is."""
        return f"your product book, {self.product}"


NO_LABEL = Label()


@dataclass(frozen=True)
class Visit:
    """What was done on a day.

    Attributes
    ----------
    put_down
        The active ingredients put down, each with how much [lb per acre], None where nobody wrote
        that down.
    may_hold
        Those that may have been put down besides, as nobody wrote down what was, or knows what
        the product holds.
    product
        The product as written; empty if none was.
    """

    day: date
    put_down: tuple[tuple[str, float | None], ...] = ()
    may_hold: tuple[str, ...] = ()
    product: str = ""
    label: Label = NO_LABEL

    @property
    def actives(self) -> tuple[str, ...]:
        """The names of the active ingredients put down."""
        return tuple(name for name, _ in self.put_down)

    @property
    def is_of_actives(self) -> bool:
        """Whether any active ingredient was put down, or may have been."""
        return bool(self.put_down or self.may_hold)


Visits = Mapping[str, tuple[Visit, ...]]


class Reader:
    """Reads visits by the user's products."""

    def __init__(self, products: Rows, rules: Rules) -> None:
        self._actives = {row["name"]: listed(row["active_ingredients"]) for row in products}
        self._labels = {row["name"]: _label(row) for row in products}
        self._rules = rules
        self._anything = tuple(sorted(rules.actives))

    def visits(self, rows: Iterable[Mapping[str, Any]]) -> Visits:
        """Return rows of the layer visit as visits by task, oldest first."""
        done: dict[str, list[Visit]] = defaultdict(list)
        for row in rows:
            done[row["task"]].append(self._visit(row))
        return {task: tuple(sorted(visits, key=_rank)) for task, visits in done.items()}

    def _visit(self, row: Mapping[str, Any]) -> Visit:
        product = row.get("product") or ""
        rates = row.get("rates_lb_per_acre") or {}
        names = set(self._actives.get(product, listed(product)))
        known = sorted(names & self._rules.actives.keys())
        put_down = tuple((name, rates.get(name)) for name in known)
        task = self._rules.task.by("task").get(row["task"])
        may_hold: tuple[str, ...] = ()
        if task is not None and task["may_hold_actives"] is not False:
            # A product that nobody knows may hold anything; none named, what serves the task.
            serving = [
                choice["active_ingredient"] for choice in self._rules.choices_of[row["task"]]
            ]
            if len(known) < len(names):
                may_hold = self._anything
            elif not product:
                may_hold = tuple(sorted(serving))
        label = self._labels.get(product, NO_LABEL)
        return Visit(row["date"], put_down, may_hold, product, label)


def _label(row: Mapping[str, Any]) -> Label:
    most = row.get("annual_max_lb_per_acre") or {}
    return Label(
        row["name"], row.get("reseed_wk"), row.get("retreat_d"), tuple(sorted(most.items()))
    )


def _rank(visit: Visit) -> tuple[Any, ...]:
    put_down = [(name, rate or 0.0) for name, rate in visit.put_down]
    return visit.day, put_down, visit.may_hold, visit.product
