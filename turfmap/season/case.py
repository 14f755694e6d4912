"""What is known of one zone on one day: its ground, what the client said, what was done."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any

from turfmap.season.rules import Rules
from turfmap.season.weather import Weather

NOT_ASKED = "not_asked"
# Where two answers are equally new, the one that forbids more counts.
_WEIGHT = {"planned": 3, "done": 2, NOT_ASKED: 1}


@dataclass(frozen=True)
class Ground:
    """What the map says of a zone; None where it says nothing.

    Attributes
    ----------
    latitude
        Of its middle, north positive [deg].
    """

    kind: str
    species: str | None
    bed_type: str | None
    latitude: float
    irrigated: bool | None


@dataclass(frozen=True)
class Answer:
    """What a client said to a question."""

    answer: str
    day: date | None = None
    answered_on: date | None = None

    def age_d(self, as_of: date) -> int | None:
        """Return how many days old it is [d]; None if nobody wrote a date."""
        dates = [day for day in (self.day, self.answered_on) if day is not None]
        return (as_of - max(dates)).days if dates else None


Answers = Mapping[str, Answer]
Visits = Mapping[str, tuple[date, ...]]


@dataclass(frozen=True, eq=False)
class Case:
    """All that the judgement of a zone depends on."""

    ground: Ground
    answers: Answers
    visits: Visits
    weather: Weather
    as_of: date
    rules: Rules

    @cached_property
    def standing(self) -> dict[str, str]:
        """The answers that count today, by question."""
        return {
            question: found.answer
            for question, found in self.answers.items()
            if not self._is_old(question, found)
        }

    @cached_property
    def turf_season(self) -> str | None:
        """``warm`` or ``cool``; None if the grass is not known."""
        row = self.rules.species.get(self.ground.species or "")
        return None if row is None else str(row["season"])

    def answered(self, question: str) -> str:
        """Return the answer that counts today; ``not_asked`` if there is none or it is too old."""
        return self.standing.get(question, NOT_ASKED)

    def _is_old(self, question: str, found: Answer) -> bool:
        good_for_d = self.rules.questions[question]["good_for_days"]
        age_d = found.age_d(self.as_of)
        return good_for_d is not None and age_d is not None and age_d > good_for_d

    def last_visit(self, tasks: Iterable[str]) -> date | None:
        """Return the last day on which any of these tasks was done."""
        days = [day for task in tasks for day in self.visits.get(task, ())]
        return max(days, default=None)


def answers_by_zone(
    rows: Sequence[Mapping[str, Any]], zones: Sequence[tuple[str, str]], *, as_of: date
) -> list[dict[str, Answer]]:
    """Return what counts as answered for each zone on a day.

    The newest answer counts, whether it was given for the zone or for the whole property; of
    answers of the same day the zone's own counts, then the one that forbids more. Answers given
    after `as_of` are not yet known.

    Parameters
    ----------
    rows
        Rows of the layer client_answer.
    zones
        Property and name of each zone.
    """
    by_place = _by_place([row for row in rows if _known(row, as_of)])
    found = []
    for place in zones:
        mine = [*by_place.get((place[0], ""), []), *by_place.get(place, [])]
        mine.sort(key=_age_rank)
        found.append({row["question"]: _answer(row) for row in mine})
    return found


def visits_by_zone(
    rows: Sequence[Mapping[str, Any]], zones: Sequence[tuple[str, str]], *, as_of: date
) -> list[dict[str, tuple[date, ...]]]:
    """Return the days on which each task was done in each zone, up to a day.

    Parameters
    ----------
    rows
        Rows of the layer visit; one without a zone is for the whole property.
    zones
        Property and name of each zone.
    """
    by_place = _by_place([row for row in rows if row["date"] <= as_of])
    found = []
    for place in zones:
        mine = [*by_place.get((place[0], ""), []), *by_place.get(place, [])]
        tasks = sorted({row["task"] for row in mine})
        found.append({t: tuple(sorted(r["date"] for r in mine if r["task"] == t)) for t in tasks})
    return found


def _known(row: Mapping[str, Any], as_of: date) -> bool:
    answered_on = row.get("answered_on")
    return answered_on is None or answered_on <= as_of


def _by_place(rows: Iterable[Mapping[str, Any]]) -> dict[tuple[str, str], list[Mapping[str, Any]]]:
    places: dict[tuple[str, str], list[Mapping[str, Any]]] = {}
    for row in rows:
        places.setdefault((row["property"], row.get("zone") or ""), []).append(row)
    return places


def _age_rank(row: Mapping[str, Any]) -> tuple[date, bool, int]:
    answered_on = row.get("answered_on") or date.min
    return answered_on, bool(row.get("zone")), _WEIGHT.get(row["answer"], 0)


def _answer(row: Mapping[str, Any]) -> Answer:
    return Answer(row["answer"], row.get("date"), row.get("answered_on"))
