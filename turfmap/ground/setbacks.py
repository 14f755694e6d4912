"""How far to keep from each protected feature: the table's rows, the largest that applies."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

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
    place_unknown
        Whether some ground lies nobody knows where: then the rules of every place apply.
    method
        A way of applying that some rules allow to come closer, or "".
    """

    actives: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    place_unknown: bool = False
    method: str = ""


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
    all_round_m
        What is kept whatever the wind [m]; where a rule holds downwind only, less than
        `distance_m`. None: all of it.
    """

    category: str
    distance_m: float
    source: str
    unverified: bool
    asked_m: float = 0.0
    asked_by: str = ""
    all_round_m: float | None = None

    @property
    def kept_all_round_m(self) -> float:
        """What is kept whatever the wind [m]."""
        return self.distance_m if self.all_round_m is None else self.all_round_m


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
    The largest distance among the rows that apply wins; one that holds downwind only counts all
    round here, as the wind is another matter (`turfmap.ground.downwind`). A row written for one
    way of applying (a deflector) stands in for the same rule's general row, never for another
    rule. Reductions are taken off the distances that the product's own label gives (rows with a
    fact ``reductions_pct``), never off any other row or those given for this run.
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
            row = max(rows, key=_distance_m)
            unsure = row["how_read"] in UNVERIFIED
            found[category] = Setback(
                category, _distance_m(row), _words(row), unsure, *asked, _all_round_m(rows)
            )
    return found


def _all_round_m(rows: Sequence[Row]) -> float | None:
    """Return what the rows that hold whatever the wind ask for; None if all of them do."""
    all_round = [row for row in rows if not row.get("downwind_only")]
    if len(all_round) == len(rows):
        return None
    return max(map(_distance_m, all_round), default=0.0)


def _words(row: Row) -> str:
    return f"{row['source']}: {row['scope']}"


def _full_m(row: Row) -> float:
    return float(row["distance_ft"]) * METRES_PER_FOOT


def _distance_m(row: Row) -> float:
    """Return a row's distance, less what its own label lets be taken off."""
    return _full_m(row) * (1.0 - reduced_share(row.get("reductions_pct", ())))


def reduced_share(reductions_pct: Iterable[float]) -> float:
    """Return the share of a distance that reductions take off, 0 to 1.

    They add as percentage points of the full distance, up to all of it.

    References
    ----------
    US EPA, Ecological mitigation menu (page dated 30 April 2025): the percentages themselves stand
    there and on the label; none is shipped.
    """
    return min(sum(reductions_pct), 100.0) / 100.0


def unmatched_places(table: Table, work: Work) -> list[str]:
    """Return the places that rows are written for and in which nothing that was asked for lies."""
    anywhere = replace(work, place_unknown=True)
    placed = {row["place"] for row in table.rows if row["place"] and _applies(row, anywhere)}
    here = {_folded(place) for place in work.places}
    return sorted(place for place in placed if _folded(place) not in here)


def _folded(place: str) -> str:
    return place.strip().casefold()


def _applies(row: Row, work: Work) -> bool:
    places = {_folded(place) for place in work.places}
    return (
        (not row["active_ingredient"] or row["active_ingredient"] in work.actives)
        and (not row["work"] or row["work"] in work.kinds)
        and (not row["place"] or work.place_unknown or _folded(row["place"]) in places)
        and (not row["method"] or row["method"] == work.method)
    )


def _without_relieved(rows: Sequence[Row]) -> list[Row]:
    """Drop a rule's general row where its row for this way of applying stands in for it."""
    rule = ("active_ingredient", "work", "place", "downwind_only")
    relieved = {tuple(row.get(name) for name in rule) for row in rows if row["method"]}
    return [row for row in rows if row["method"] or tuple(row.get(n) for n in rule) not in relieved]
