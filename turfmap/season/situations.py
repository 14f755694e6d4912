"""From rows of the map to what is known of each zone; zones of which the same is known share it."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
import numpy.typing as npt

from turfmap.season.case import NOT_ASKED, Answer, Ground, Told, Visit, Visits
from turfmap.season.rules import Rules, listed

Columns = Mapping[str, Sequence[Any]]
Rows = Sequence[Mapping[str, Any]]
Place = tuple[str, str]

# Where two answers are equally new, the one that forbids more counts.
_WEIGHT = {"planned": 3, "done": 2, NOT_ASKED: 1}
FORBIDS = ("planned", "done")


@dataclass(frozen=True, eq=False)
class Situation:
    """What is known of a zone, over all time.

    Parts that are equal are one object, in all situations that were made together, so that what
    is alike can be found by identity.

    Attributes
    ----------
    told
        What was said to each question, the answer that counts most last.
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
        for the whole property. Visits may have ``rates_lb_per_acre``, how much of each active
        ingredient was put down.

    Returns
    -------
    situations : list of Situation
    which : numpy.ndarray of int
        Place in that list, shape (zones,).
    """
    told = _gathered(answers, _told)
    actives_of = {row["name"]: listed(row["active_ingredients"]) for row in products}
    done = _gathered(visits, lambda rows: _done(rows, actives_of, rules))
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
    """Return the ground of each zone, its latitude rounded down to its band.

    Windows change only at the latitudes that the window table names, so zones of one band are
    the same ground.
    """
    bands = rules.latitude_bands
    latitudes = np.asarray(zones["latitude"], dtype=np.float64)
    at = bands[np.searchsorted(bands, np.nan_to_num(latitudes, nan=-90.0), side="right") - 1]
    nothing = [None] * len(at)
    return list(
        map(
            Ground,
            zones["kind"],
            zones["species"],
            zones["bed_type"],
            at.tolist(),
            zones["irrigated"],
            zones.get("soil", nothing),
            zones.get("cell", [0] * len(at)),
        )
    )


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
    """Return what was said to each question, the answer that counts most last.

    The newest answer counts, whether it was given for the zone or for the whole property; of
    answers of the same day the zone's own counts, then the one that forbids more, then the one
    written down last.
    """
    told: dict[str, list[Mapping[str, Any]]] = defaultdict(list)
    for row in rows:
        told[row["question"]].append(row)
    return {
        question: tuple(
            Answer(row["answer"], row.get("date"), row.get("answered_on"))
            for row in sorted(_unforbidden(said), key=_age_rank)
        )
        for question, said in told.items()
    }


def _unforbidden(said: Rows) -> Rows:
    """Leave out answers that would lift what a more particular or an undated one forbids.

    A zone's own plan yields to a newer answer for that zone, not to one for the whole property;
    a plan without the day it was told yields only to what was written down after it.
    """
    own = [row for row in said if row.get("zone")]
    newest_own = max(own, key=_age_rank, default=None)
    zone_forbids = newest_own is not None and newest_own["answer"] in FORBIDS
    undated = [
        place
        for place, row in enumerate(said)
        if row["answer"] in FORBIDS and not row.get("answered_on")
    ]
    last_undated = max(undated, default=-1)
    return [
        row
        for place, row in enumerate(said)
        if row["answer"] in FORBIDS
        or not ((zone_forbids and not row.get("zone")) or place < last_undated)
    ]


def _age_rank(row: Mapping[str, Any]) -> tuple[date, bool, int]:
    answered_on = row.get("answered_on") or date.min
    return answered_on, bool(row.get("zone")), _WEIGHT.get(row["answer"], 0)


def _done(rows: Rows, actives_of: Mapping[str, tuple[str, ...]], rules: Rules) -> Visits:
    done: dict[str, list[Visit]] = defaultdict(list)
    for row in rows:
        product = row.get("product") or ""
        rates = row.get("rates_lb_per_acre") or {}
        actives = sorted(set(actives_of.get(product) or listed(product)) & rules.actives.keys())
        put_down = tuple((name, rates.get(name)) for name in actives)
        done[row["task"]].append(Visit(row["date"], put_down))
    return {task: tuple(sorted(visits, key=_visit_rank)) for task, visits in done.items()}


def _visit_rank(visit: Visit) -> tuple[date, list[tuple[str, float]]]:
    return visit.day, [(name, rate or 0.0) for name, rate in visit.put_down]
