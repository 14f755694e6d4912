"""What a client said of a zone, as far as it still counts on the day of a load."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from turfmap.foundations.definitions import Row, table

NOT_ASKED = "not_asked"
# Seed on the ground or on its way is the careful reading where two answers are equally new.
SEED = frozenset({"planned", "done"})


@dataclass(frozen=True)
class Answer:
    """An answer, and the day that it names."""

    answer: str
    day: date | None = None


UNKNOWN = Answer(NOT_ASKED)


def answers_for(
    zone: Mapping[str, object],
    answers: Iterable[Row],
    visits: Iterable[Row],
    day: date | None,
) -> dict[str, Answer]:
    """Return the newest answer to each question on a zone; one that is too old is not asked.

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
    rows = [row for row in answers if _is_for(row, zone)] + [
        _sown(visit) for visit in visits if _is_for(visit, zone) and visit["task"] == "overseeding"
    ]
    told = [row for row in rows if not (day and row["answered_on"] and row["answered_on"] > day)]
    return {row["question"]: _counting(row, day) for row in sorted(told, key=_newest_last)}


def _is_for(row: Row, zone: Mapping[str, object]) -> bool:
    return row["property"] == zone["property"] and row["zone"] in {None, "", zone["name"]}


def _sown(visit: Row) -> Row:
    done = {"question": "overseeding", "answer": "done", "zone": visit["zone"]}
    return done | {"date": visit["date"], "answered_on": visit["date"]}


def _newest_last(row: Row) -> tuple[date, bool, bool]:
    return row["answered_on"] or date.min, bool(row["zone"]), row["answer"] in SEED


def _counting(row: Row, day: date | None) -> Answer:
    good_for_d = table("question").by("question").get(row["question"], {}).get("good_for_days")
    dates = [one for one in (row["date"], row["answered_on"]) if one is not None]
    said = Answer(row["answer"], row["date"])
    if good_for_d is None or not dates:
        return said
    if day is None:
        return said if row["answer"] in SEED else UNKNOWN
    return said if (day - max(dates)).days <= good_for_d else UNKNOWN
