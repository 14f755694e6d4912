"""How far to keep from each protected feature: the table's rows, the largest that applies."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from turfmap.foundations.definitions import Row, Table
from turfmap.foundations.units import METRES_PER_FOOT

UNVERIFIED = ("memory", "derived", "second hand")


@dataclass(frozen=True)
class Work:
    """What is to be done, as far as setbacks ask.

    Attributes
    ----------
    actives
        Active ingredients that will be applied.
    kinds
        "spray", "fertilise" or both; empty where it is not known.
    places
        Places whose rules apply (states, counties).
    method
        A way of applying that some rules allow to come closer, or "".
    reductions_pct
        Percentage points that the label lets each measure against drift take off a distance.
    """

    actives: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    method: str = ""
    reductions_pct: tuple[float, ...] = ()


@dataclass(frozen=True)
class Setback:
    """The distance for one category of protected feature.

    Attributes
    ----------
    distance_m
        What is kept [m].
    source
        Where that comes from.
    unverified
        Whether it still has to be confirmed.
    asked_m, asked_by
        What the rows ask for before reductions, and before anything that is given for this run
        [m], and the row that asks for most.
    """

    category: str
    distance_m: float
    source: str
    unverified: bool
    asked_m: float = 0.0
    asked_by: str = ""


def setbacks(
    categories: Iterable[str], table: Table, work: Work, overrides_m: Mapping[str, float]
) -> dict[str, Setback]:
    """Return the setback of every category.

    Parameters
    ----------
    categories
        Kinds of water and of sensitive sites.
    table
        The table ``setback``, the user's own rows already put over ours.
    work
        What is to be done.
    overrides_m
        Distances given for this run only, by category [m]; they replace the table's.

    Returns
    -------
    dict of str to Setback
        One for each category that has a row or an override. A category without either is left
        out: its distance is unknown, and the caller must not treat near it.

    Notes
    -----
    The largest distance among the rows that apply wins. A row written for one way of applying
    (a deflector) stands in for the same rule's general row, never for another rule. Reductions
    are taken off the distances of the product's own rows, never off general ones, local law, or
    those given for this run.
    """
    found = {}
    for category in categories:
        rows = [row for row in table.rows if row["category"] == category and _applies(row, work)]
        rows = _without_relieved(rows)
        full = max(rows, key=_full_m, default=None)
        asked = (0.0, "") if full is None else (_full_m(full), _words(full))
        if category in overrides_m:
            given_m = overrides_m[category]
            found[category] = Setback(category, given_m, "given for this run", False, *asked)
        elif rows:
            row = max(rows, key=lambda row: _distance_m(row, work))
            unsure = row["how_read"] in UNVERIFIED
            found[category] = Setback(category, _distance_m(row, work), _words(row), unsure, *asked)
    return found


def _words(row: Row) -> str:
    return f"{row['source']}: {row['scope']}"


def _full_m(row: Row) -> float:
    return float(row["distance_ft"]) * METRES_PER_FOOT


def _distance_m(row: Row, work: Work) -> float:
    """Return a row's distance; only what a product's label asks for can be reduced."""
    from_a_label = bool(row["active_ingredient"])
    # A row of the user's book already holds its own reductions with those of the run.
    reductions_pct = row.get("reductions_pct", work.reductions_pct)
    return _full_m(row) * (1.0 - from_a_label * reduced_share(reductions_pct))


def reduced_share(reductions_pct: Iterable[float]) -> float:
    """Return the share of a distance that reductions take off, 0 to 1.

    They add as percentage points of the full distance, up to all of it.

    References
    ----------
    US EPA, Ecological mitigation menu (page dated 30 April 2025): the percentages themselves stand
    there and on the label; none is shipped.
    """
    return min(sum(reductions_pct), 100.0) / 100.0


def _applies(row: Row, work: Work) -> bool:
    return (
        (not row["active_ingredient"] or row["active_ingredient"] in work.actives)
        and (not row["work"] or row["work"] in work.kinds)
        and (not row["place"] or row["place"] in work.places)
        and (not row["method"] or row["method"] == work.method)
    )


def _without_relieved(rows: Sequence[Row]) -> list[Row]:
    """Drop a rule's general row where its row for this way of applying stands in for it."""
    rule = ("active_ingredient", "work", "place")
    relieved = {tuple(row[name] for name in rule) for row in rows if row["method"]}
    return [row for row in rows if row["method"] or tuple(row[n] for n in rule) not in relieved]
