"""What a client said of a zone, as it stands on the day of a load, read as the season reads it."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date

import numpy as np

from turfmap.foundations.definitions import Row, table
from turfmap.season.answered import DONE, NOT_ASKED, PLANNED, Answer, answered

UNKNOWN = Answer(NOT_ASKED)
SEED = frozenset({PLANNED, DONE})
SOWING = "overseeding"
# A question that our table does not know: the newest answer counts, however old.
_UNDECLARED = {"permits": "", "permits_for_days": None, "standing": "", "good_for_days": None}


def answers_for(
    zone: Mapping[str, object],
    answers: Iterable[Row],
    visits: Iterable[Row],
    day: date | None,
) -> dict[str, Answer]:
    """Return the answer to each question on a zone that counts; one that is too old is not asked.

    Parameters
    ----------
    zone
        With ``property`` and ``name``.
    answers
        Rows of the layer client_answer; without a zone, they are for the whole property.
    visits
        Rows of the layer visit: a sowing on record stands as the answer "done".
    day
        The day of the load. None: an answer that goes out of date counts only if it says that
        seed is planned or was sown.
    """
    told: dict[str, list[Answer]] = defaultdict(list)
    for row in answers:
        if _is_for(row, zone):
            told[row["question"]].append(
                Answer(row["answer"], row["date"], row["answered_on"], bool(row["zone"]))
            )
    sown = [visit["date"] for visit in visits if visit["task"] == SOWING and _is_for(visit, zone)]
    if sown:
        told.setdefault(SOWING, [])
    rules = table("question").by("question")
    return {
        question: _standing(said, sown if question == SOWING else [], rules.get(question), day)
        for question, said in told.items()
    }


def _is_for(row: Row, zone: Mapping[str, object]) -> bool:
    return row["property"] == zone["property"] and row["zone"] in {None, "", zone["name"]}


def _standing(said: list[Answer], sown: list[date], rule: Row | None, day: date | None) -> Answer:
    rule = rule or _UNDECLARED
    dates = [one for found in said for one in (found.answered_on, found.day) if one] + sown
    on = day or max(dates, default=date.min)
    found = answered(said, sown, rule, np.array([on.toordinal()])).on(0)
    if day is None and rule["good_for_days"] is not None and found.answer not in SEED:
        return UNKNOWN
    return found
