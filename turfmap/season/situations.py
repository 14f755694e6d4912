"""From rows of the map to what is known of each zone; zones of which the same is known share it."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Any

import numpy as np
import numpy.typing as npt

from turfmap.season.answered import Answer
from turfmap.season.case import Ground, Told
from turfmap.season.rules import Rules
from turfmap.season.visits import Reader, Visits

Columns = Mapping[str, Sequence[Any]]
Rows = Sequence[Mapping[str, Any]]
Place = tuple[str, str]


@dataclass(frozen=True, eq=False)
class Situation:
    """What is known of a zone, over all time.

    Parts that are equal are one object, in all situations that were made together, so that what
    is alike can be found by identity.

    Attributes
    ----------
    told
        What was said to each question.
    visits
        What was done, by task, oldest first.
    """

    ground: Ground
    told: Told
    visits: Visits


def situations(
    zones: Columns, *, answers: Rows, visits: Rows, products: Rows, rules: Rules
) -> tuple[list[Situation], npt.NDArray[np.int64]]:
    """Return the situations that there are, and which is each zone's.

    Parameters
    ----------
    zones
        Columns of equal length; see `turfmap.season.due.due`.
    answers, visits, products
        Rows of the layers client_answer, visit and product. Answers and visits without a zone are
        for the whole property. Products may have ``annual_max_lb_per_acre``, the most of each
        active ingredient in a year. Visits may have ``rates_lb_per_acre``, how much of each active
        ingredient was put down.

    Returns
    -------
    situations : list of Situation
    which : numpy.ndarray of int
        Place in that list, shape (zones,).
    """
    told = _gathered(answers, _told)
    done = _gathered(visits, Reader(products, rules).visits)
    found: dict[Any, int] = {}
    kept: list[Situation] = []
    one_of: dict[Ground, Ground] = {}
    which = np.empty(len(zones["name"]), dtype=np.int64)
    places = zip(zones["property"], zones["name"], strict=True)
    for number, (ground, place) in enumerate(zip(grounds(zones, rules), places, strict=True)):
        said, was_done = told.of(place), done.of(place)
        mine = one_of.setdefault(ground, ground)
        key = (id(mine), said.number, was_done.number)
        if key not in found:
            found[key] = len(kept)
            kept.append(Situation(mine, said.what, was_done.what))
        which[number] = found[key]
    return kept, which


def grounds(zones: Columns, rules: Rules) -> list[Ground]:
    """Return the ground of each zone, its latitude and longitude rounded down to their bands.

    Windows change only at those that the window table names, so zones of one band are the same
    ground. What has no place is put where no shipped window is known.
    """
    count = len(zones["name"])
    nothing = [None] * count
    return list(
        map(
            Ground,
            zones["kind"],
            zones["species"],
            zones["bed_type"],
            _banded(zones["latitude"], rules.latitude_bands),
            _banded(zones.get("longitude", nothing), rules.longitude_bands),
            zones["irrigated"],
            zones.get("soil", nothing),
            zones.get("cell", [0] * count),
            map(
                partial(_lacks_sun, rules),
                zones["species"],
                zones.get("shade", nothing),
                zones.get("sun_hours", nothing),
            ),
        )
    )


def _lacks_sun(rules: Rules, species: str | None, shade: str | None, sun_h: float | None) -> bool:
    """Return whether ground surely has less sun than its grass needs; hours beat the class."""
    need = rules.sun_needs.get(species or "")
    if need is None or (sun_h is None and shade not in rules.most_sun_h):
        return False
    least_h = float(need["minimum_sun_h"])
    return sun_h < least_h if sun_h is not None else rules.most_sun_h[shade or ""] <= least_h


def _banded(values: Sequence[Any], bands: npt.NDArray[np.float64]) -> list[float]:
    """Return places rounded down to bands; what is not known to the first of them."""
    known = np.nan_to_num(np.asarray(values, dtype=np.float64), nan=bands[0])
    found: list[float] = bands[np.searchsorted(bands, known, side="right") - 1].tolist()
    return found


@dataclass(frozen=True)
class _Known:
    """What is known of a place, and a number that the same knowledge shares."""

    number: int
    what: Any


class _Gathered:
    """Rows by the place that they are for, put together once for each place."""

    def __init__(self, by_place: Mapping[Place, list[Mapping[str, Any]]], gather: Any) -> None:
        self._by_place = by_place
        self._gather = gather
        self._known: dict[Place, _Known] = {}
        self._numbers: dict[Any, _Known] = {}
        self._one_of: dict[Any, Any] = {}

    def of(self, place: Place) -> _Known:
        """Return what is known of a zone, from its own rows and its property's."""
        where = place if place in self._by_place else (place[0], "")
        if where not in self._known:
            rows = [*self._by_place.get((place[0], ""), [])]
            if where[1]:
                rows += self._by_place[where]
            what = {
                name: self._one_of.setdefault(known, known)
                for name, known in sorted(self._gather(rows).items())
            }
            new = _Known(len(self._numbers), what)
            self._known[where] = self._numbers.setdefault(tuple(what.items()), new)
        return self._known[where]


def _gathered(rows: Rows, gather: Any) -> _Gathered:
    by_place: dict[Place, list[Mapping[str, Any]]] = defaultdict(list)
    for row in rows:
        by_place[row["property"], row.get("zone") or ""].append(row)
    return _Gathered(dict(by_place), gather)


def _told(rows: Rows) -> Told:
    """Return what was said to each question, in an order that does not hang on the file's."""
    told: dict[str, list[Answer]] = defaultdict(list)
    for row in rows:
        said = Answer(
            row["answer"], row.get("date"), row.get("answered_on"), is_own=bool(row.get("zone"))
        )
        told[row["question"]].append(said)
    return {question: tuple(sorted(said, key=_order)) for question, said in told.items()}


def _order(said: Answer) -> tuple[date, bool, str, date]:
    return said.answered_on or date.min, said.is_own, said.answer, said.day or date.min
