"""What is due on every zone on a day, ranked."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import numpy as np

from turfmap.season.case import Answer, Answers, Case, Ground, answers_by_zone, visits_by_zone
from turfmap.season.judging import Judgement, judged
from turfmap.season.reasons import (
    LABEL_FIRST,
    NO_WINDOW,
    hold_words,
    reasons,
    sources,
    told_client,
    weather_notes,
    why_lines,
)
from turfmap.season.rules import Rules, shipped_rules
from turfmap.season.weather import Weather
from turfmap.season.windows import Almanac

Columns = Mapping[str, Sequence[Any]]
PlainTask = dict[str, Any]

# The rank of a question for which no window is known: after what opens soon.
_ASK_WITHOUT_WINDOW = 4.5


def due(
    zones: Columns,
    *,
    answers: Sequence[Mapping[str, Any]],
    visits: Sequence[Mapping[str, Any]],
    weather: Weather,
    as_of: date,
    why: bool = False,
) -> dict[str, Any]:
    """Return what is due on each zone on a day, what must wait, and why.

    Parameters
    ----------
    zones
        Columns of equal length: property, name, kind, species, bed_type, latitude [deg, north
        positive], irrigated. None where nothing is known.
    answers, visits
        Rows of the layers client_answer and visit; those after `as_of` are left out.
    weather
        Daily weather up to `as_of`.
    as_of
        The day asked about.
    why
        Whether every task also gets the whole chain of reasons, as the key ``why``.

    Returns
    -------
    dict
        ``{"as_of", "zones": [{"property", "zone", "tasks": [...]}], "cautions"}``: each zone's
        tasks are ranked, and the first gives the zone its colour.
    """
    rules = shipped_rules()
    places = list(zip(zones["property"], zones["name"], strict=True))
    cases = [
        Case(ground, with_sowing(said, done), done, weather, as_of, rules)
        for ground, said, done in zip(
            grounds(zones, rules),
            answers_by_zone(answers, places, as_of=as_of),
            visits_by_zone(visits, places, as_of=as_of),
            strict=True,
        )
    ]
    tasks = Tasks(rules, weather)
    return {
        "as_of": as_of.isoformat(),
        "zones": [
            {"property": place[0], "zone": place[1], "tasks": tasks.of(case, why=why)}
            for place, case in zip(places, cases, strict=True)
        ],
        "cautions": [LABEL_FIRST, *weather_notes(weather, as_of)],
    }


def grounds(zones: Columns, rules: Rules) -> list[Ground]:
    """Return the ground of each zone, its latitude rounded down to its band.

    Windows change only at the latitudes that the window table names, so zones of one band are
    the same ground.
    """
    edges = {row[name] for row in rules.window.rows for name in ("latitude_from", "latitude_to")}
    bands = np.array([-90.0, *sorted(edges)])
    latitudes = np.asarray(zones["latitude"], dtype=np.float64)
    at = bands[np.searchsorted(bands, np.nan_to_num(latitudes, nan=-90.0), side="right") - 1]
    columns = [zones[name] for name in ("kind", "species", "bed_type")]
    return [
        Ground(kind, species, bed, float(latitude), irrigated)
        for kind, species, bed, latitude, irrigated in zip(
            *columns, at, zones["irrigated"], strict=True
        )
    ]


def with_sowing(answers: Answers, visits: Mapping[str, tuple[date, ...]]) -> Answers:
    """Return the answers with a recorded overseeding put as done, unless a newer answer stands."""
    sown = max(visits.get("overseeding", ()), default=None)
    said = answers.get("overseeding")
    if sown is None or (said and said.answered_on and said.answered_on > sown):
        return answers
    return {**answers, "overseeding": Answer("done", sown, sown)}


class Tasks:
    """The ranked tasks of cases; like cases are judged once."""

    def __init__(self, rules: Rules, weather: Weather) -> None:
        self._almanac = Almanac(rules.window.rows, weather)
        self._order: dict[str, int] = {r["state"]: r["order"] for r in rules.state.rows}
        self._judged: dict[Any, list[Judgement]] = {}

    def of(self, case: Case, *, why: bool) -> list[PlainTask]:
        """Return the tasks of a case as plain data, ranked."""
        key = (case.ground, _frozen(case.answers), _frozen(case.visits))
        if key not in self._judged:
            self._judged[key] = self._ranked(case)
        return [
            plain(found, case) | ({"why": why_lines(found, case)} if why else {})
            for found in self._judged[key]
        ]

    def _ranked(self, case: Case) -> list[Judgement]:
        found = [judged(task, case, self._almanac) for task in case.rules.task.rows]
        return sorted((one for one in found if one is not None), key=self._rank)

    def _rank(self, found: Judgement) -> tuple[float, date | int, date | int, str]:
        rank, name = found.task["rank"], found.task["task"]
        window = found.window
        if window is None:
            return _ASK_WITHOUT_WINDOW, rank, 0, name
        order = float(self._order[found.state])
        if found.state in {"due", "ask", "held"}:
            return order, rank, window.closes.toordinal(), name
        return order, window.opens.toordinal(), rank, name


def plain(found: Judgement, case: Case) -> PlainTask:
    """Return a judgement as plain data."""
    window = found.window
    holds = [hold_words(finding) for finding in found.findings]
    return {
        "task": found.task["task"],
        "title": found.task["title"],
        "state": found.state,
        "opens": window.opens.isoformat() if window else None,
        "closes": window.closes.isoformat() if window else None,
        "reasons": reasons(found, case),
        "holds": holds if window else [NO_WINDOW, *holds],
        "sources": sources(found, case),
        "tell_client": told_client(found, case),
        "code": found.task["code"],
    }


def _frozen(mapping: Mapping[str, Any]) -> tuple[tuple[str, Any], ...]:
    return tuple(sorted(mapping.items()))
