"""What is due on every zone on a day, ranked, with the reasons in words."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np

from turfmap.foundations.definitions import Row
from turfmap.season.alternatives import INSTEAD, tells_ways_out
from turfmap.season.board import Board
from turfmap.season.book import book_of
from turfmap.season.case import Moment
from turfmap.season.chain import weather_notes, why_lines
from turfmap.season.edge_words import mark_of
from turfmap.season.judging import Judged, Judgement
from turfmap.season.reasons import (
    LABEL_FIRST,
    NO_WINDOW,
    hold_words,
    reasons,
    sources,
    told_client,
)
from turfmap.season.rules import rules_with
from turfmap.season.situations import Columns, Rows, situations
from turfmap.season.weather import Weather

PlainTask = dict[str, Any]


def due(
    zones: Columns,
    *,
    answers: Rows,
    visits: Rows,
    weather: Weather | Sequence[Weather],
    as_of: date,
    why: bool = False,
    **more: Any,
) -> dict[str, Any]:
    """Return what is due on each zone on a day, what must wait, and why.

    Parameters
    ----------
    zones
        Columns of equal length: property, name, kind, species, bed_type, latitude and longitude
        [deg, north and east positive], irrigated, and if known soil, shade, sun_hours and cell
        (which of the weather records is its own, from 0). None where nothing is known.
    answers, visits
        Rows of the layers client_answer and visit; those after `as_of` do not count.
    weather
        Daily weather up to `as_of`, of one cell or of several.
    as_of
        The day asked about.
    why
        Whether every task also gets the whole chain of reasons, as the key ``why``.
    **more
        See `judged_for`.

    Returns
    -------
    dict
        ``{"as_of", "zones": [{"property", "zone", "tasks": [...]}], "cautions"}``: each zone's
        tasks are ranked, and the first gives the zone its colour.
    """
    board = judged_for(zones, [as_of], answers=answers, visits=visits, weather=weather, **more)
    words = _Words(why=why)
    tasks = [words.of(board.ranked(number, 0)) for number in range(len(board.situations))]
    places = zip(zones["property"], zones["name"], board.which, strict=True)
    records = [known.weather for known in board.known]
    return {
        "as_of": as_of.isoformat(),
        "zones": [
            {"property": of, "zone": name, "tasks": [dict(task) for task in tasks[which]]}
            for of, name, which in places
        ],
        "cautions": [LABEL_FIRST, *weather_notes(records, as_of)],
    }


def judged_for(
    zones: Columns,
    days: Sequence[date],
    *,
    answers: Rows,
    visits: Rows,
    weather: Weather | Sequence[Weather],
    products: Rows = (),
    own_rows: Mapping[str, Sequence[Row]] | None = None,
) -> Board:
    """Return every zone judged for every task on every day.

    Parameters
    ----------
    zones, answers, visits, weather
        See `due`.
    days
        The days asked about, in any order; at least one.
    products
        Rows of the layer product: what was put down at visits, and what their labels say.
    own_rows
        A user's own rows of reference tables, by table; they beat the shipped ones.
    """
    rules = rules_with(own_rows or {})
    if products:
        rules = replace(rules, book=book_of(products))
    found, which = situations(zones, answers=answers, visits=visits, products=products, rules=rules)
    records = [weather] if isinstance(weather, Weather) else list(weather)
    ordinals = np.array([day.toordinal() for day in days], dtype=np.int64)
    return Board(found, which, weather=records, days=ordinals, rules=rules)


class _Words:
    """Judgements of the only day put in words, each different one once.

    Situations share judgements, and words hang on nothing else but the few tasks that are told
    beside another (`alternatives.INSTEAD`).
    """

    def __init__(self, *, why: bool) -> None:
        self._why = why
        self._at: dict[int, Judgement] = {}
        self._plain: dict[tuple[int, ...], PlainTask] = {}

    def of(self, ranked: Sequence[Judged]) -> list[PlainTask]:
        """Return how each task of a situation stands, first what comes first."""
        beside = {judged.task["task"]: self._judgement(judged) for judged in ranked}
        told = tuple(id(beside[task]) for task in INSTEAD if task in beside)
        return [self._told(judged, beside, told) for judged in ranked]

    def _judgement(self, judged: Judged) -> Judgement:
        if id(judged) not in self._at:  # the board keeps it alive, and so its identity
            self._at[id(judged)] = judged.at(0)
        return self._at[id(judged)]

    def _told(
        self, judged: Judged, beside: Mapping[str, Judgement], told: tuple[int, ...]
    ) -> PlainTask:
        key = (id(judged), *(told if tells_ways_out(judged.task, judged.case.rules) else ()))
        if key not in self._plain:
            moment = Moment(judged.case, 0, beside)
            self._plain[key] = plain(self._judgement(judged), moment, why=self._why)
        return self._plain[key]


def plain(found: Judgement, moment: Moment, *, why: bool) -> PlainTask:
    """Return a judgement on one day as plain data."""
    window = found.window
    holds = [hold_words(finding, mark_of(found.task)) for finding in found.findings]
    task = {
        "task": found.task["task"],
        "title": found.task["title"],
        "state": found.state,
        "opens": window.opens.isoformat() if window else None,
        "closes": window.closes.isoformat() if window else None,
        "reasons": reasons(found, moment),
        "holds": holds if window else [NO_WINDOW, *holds],
        "sources": sources(found, moment),
        "tell_client": told_client(found, moment),
        "code": found.task["code"],
    }
    return task | {"why": why_lines(found, moment)} if why else task
