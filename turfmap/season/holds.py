"""What blocks a task on a zone today: one small function for each basis.

Each returns a finding or None. Where a rule lacks what it needs it finds a question, never
nothing: unknown does not mean go.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from turfmap.foundations.dates import day_words, on_month_day
from turfmap.foundations.definitions import Row
from turfmap.foundations.units import MILLIMETRES_PER_INCH, celsius
from turfmap.season.actives import verdicts
from turfmap.season.case import NOT_ASKED, Case
from turfmap.season.rules import listed

ASK = "ask"


@dataclass(frozen=True)
class Finding:
    """A hold in force.

    Attributes
    ----------
    effect
        ``held`` or ``ask``.
    words
        The reason, as shown.
    row
        The row of the table hold.
    """

    effect: str
    words: str
    row: Row


Found = Finding | None
Basis = Callable[[Row, str, Case], Found]


def findings(task: str, case: Case, *, is_open: bool) -> list[Finding]:
    """Return every hold on a task, in the order of the table.

    Parameters
    ----------
    task
        A row's id of the table task.
    case
        What is known of the zone today.
    is_open
        Whether the task's window is open; today's weather says nothing of later windows.
    """
    found = []
    for row in case.rules.holds_of[task]:
        if (row["only_open"] and not is_open) or not _concerns(row, case):
            continue
        finding = BASES[row["basis"]](row, task, case)
        if finding is not None:
            found.append(finding)
    return found


def _held(row: Row, detail: str = "") -> Finding:
    """Return what the row says, and what was found on this ground."""
    return Finding(row["effect"], f"{row['words']} {detail}".strip(), row)


def _lacking(row: Row, words: str) -> Finding:
    """Return a question: the rule lacks what it needs."""
    return Finding(ASK, words, row)


def _concerns(row: Row, case: Case) -> bool:
    season, bed = case.turf_season, case.ground.bed_type
    if row["turf_season"] and season and season != row["turf_season"]:
        return False
    beds = listed(row["bed_types"])
    return not beds or bed is None or bed in beds


def answer_is(row: Row, _task: str, case: Case) -> Found:
    """Hold where a question has a certain answer."""
    if case.answered(row["question"]) != row["answer"]:
        return None
    day = case.answers[row["question"]].day
    return _held(row, f"Answered: {row['answer']}{f', {day_words(day)}' if day else ''}.")


def not_asked(row: Row, _task: str, case: Case) -> Found:
    """Ask where a question has no answer that still counts."""
    question = row["question"]
    if case.answered(question) != NOT_ASKED:
        return None
    old = case.answers.get(question)
    is_old = old is not None and old.answer != NOT_ASKED
    said = f"The last answer, {old.answer}, is too old to count. " if old and is_old else ""
    return _lacking(row, f"{row['words']} {said}Ask: {case.rules.questions[question]['words']}")


def species_unknown(row: Row, _task: str, case: Case) -> Found:
    """Ask where the grass is not known."""
    return _lacking(row, row["words"]) if case.turf_season is None else None


def species_is(row: Row, _task: str, case: Case) -> Found:
    """Hold on certain grasses."""
    return _held(row) if case.ground.species in listed(row["species"]) else None


def species_not_tolerant(row: Row, task: str, case: Case) -> Found:
    """Hold where the ground bears none of the active ingredients; ask where that is not known."""
    found = verdicts(task, case)
    if case.turf_season is None or any(verdict.is_usable for verdict in found):
        return None
    if case.answered("overseeding") == NOT_ASKED and any(verdict.is_borne for verdict in found):
        return None  # that nobody has asked holds every herbicide already
    if any(verdict.lacks for verdict in found):
        return _lacking(row, f"{row['words']} For some it is not known: see the reasons.")
    return _held(row)


def bed_type_unknown(row: Row, _task: str, case: Case) -> Found:
    """Ask where nobody said what grows in a bed."""
    return _lacking(row, row["words"]) if case.ground.bed_type is None else None


def bed_type_is(row: Row, _task: str, case: Case) -> Found:
    """Hold in certain beds."""
    return _held(row) if case.ground.bed_type in listed(row["bed_types"]) else None


def irrigation_unknown(row: Row, _task: str, case: Case) -> Found:
    """Ask where nobody said whether the zone can be watered."""
    return _lacking(row, row["words"]) if case.ground.irrigated is None else None


def interval(row: Row, _task: str, case: Case) -> Found:
    """Hold for some days after another visit."""
    last = case.last_visit(listed(row["other_tasks"]))
    if last is None or (case.as_of - last).days > row["days"]:
        return None
    until = last + timedelta(days=int(row["days"]))
    return _held(row, f"Done {day_words(last)}; held until {day_words(until)}.")


def no_visit(row: Row, _task: str, case: Case) -> Found:
    """Ask where a visit that should have gone before is not recorded."""
    last = case.last_visit(listed(row["other_tasks"]))
    is_missing = last is None or (case.as_of - last).days > row["days"]
    return _held(row) if is_missing else None


def season(row: Row, _task: str, case: Case) -> Found:
    """Hold between two days of the year."""
    if not in_season(row, case):
        return None
    until = on_month_day(case.as_of.year, row["until"])
    if until < case.as_of:
        until = on_month_day(case.as_of.year + 1, row["until"])
    return _held(row, f"Until {day_words(until)}.")


def in_season(row: Row, case: Case) -> bool:
    """Whether today lies between the days of the year on which a row can hold."""
    if not row["from"]:
        return True
    today = f"{case.as_of:%m-%d}"
    first, last = str(row["from"]), str(row["until"])
    return first <= today <= last if first <= last else today >= first or today <= last


def drought(row: Row, _task: str, case: Case) -> Found:
    """Hold on ground short of water; ask where neither rain nor a look at the grass is recorded."""
    looked = case.answered(row["question"])
    if looked == "yes":
        return _held(row, "The grass was seen to be dry.")
    if looked == "no" or case.ground.irrigated:
        return None
    rain_mm, is_whole = _rain(row, case)
    if rain_mm >= row["value"] * MILLIMETRES_PER_INCH:
        return None
    if not is_whole:
        words = case.rules.questions[row["question"]]["words"]
        return _lacking(
            row, f"The rain record has no full {row['days']} days up to today. Look: {words}"
        )
    return _held(row, f"{rain_mm / MILLIMETRES_PER_INCH:.2f} in fell.")


def wet_enough(row: Row, _task: str, case: Case) -> Found:
    """Hold watering where enough rain fell; ask where the rain is not known."""
    rain_mm, is_whole = _rain(row, case)
    if rain_mm >= row["value"] * MILLIMETRES_PER_INCH:
        return _held(row, f"{rain_mm / MILLIMETRES_PER_INCH:.2f} in fell.")
    return (
        None if is_whole else _lacking(row, "The rain is not known: feel the soil 6 inches down.")
    )


def too_hot(row: Row, _task: str, case: Case) -> Found:
    """Hold after hot days; ask, in the hot season, where the temperature is not known."""
    if not in_season(row, case):
        return None
    highs_c = case.weather.last(case.weather.air_max_c, case.as_of, int(row["days"]))
    if np.any(highs_c[np.isfinite(highs_c)] >= celsius(row["value"])):
        return _held(row)
    if np.isfinite(highs_c).all():
        return None
    return _lacking(
        row, "The highest temperatures of the last days are not known: read a thermometer first."
    )


def _rain(row: Row, case: Case) -> tuple[float, bool]:
    fallen = case.weather.last(case.weather.rain_mm, case.as_of, int(row["days"]))
    return float(np.nansum(fallen)), bool(np.isfinite(fallen).all())


BASES: Mapping[str, Basis] = {
    "answer_is": answer_is,
    "not_asked": not_asked,
    "species_unknown": species_unknown,
    "species_is": species_is,
    "species_not_tolerant": species_not_tolerant,
    "bed_type_unknown": bed_type_unknown,
    "bed_type_is": bed_type_is,
    "irrigation_unknown": irrigation_unknown,
    "interval": interval,
    "no_visit": no_visit,
    "season": season,
    "drought": drought,
    "too_hot": too_hot,
    "wet_enough": wet_enough,
}
