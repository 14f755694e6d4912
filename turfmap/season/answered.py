"""How a question stands on each day: which of the answers known by then counts, and how long.

A standing answer (a plan, a sowing) is taken back only by a later answer for the same ground: what
is said of the whole property does not lift the plan of one zone, nor what is said of one zone the
plan of the property, and an answer without its day lifts nothing. Of all others the newest counts.
What is known on a day never depends on what was said after it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt

from turfmap.foundations.definitions import Row
from turfmap.season.rules import listed

NOT_ASKED = "not_asked"
PLANNED, DONE = "planned", "done"
NEVER = 0
# An answer that is good for no longer than this must say when it was given.
SHORT_LIVED_D = 30
_FAR = 2**22  # more than any ordinal of a day

Days = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Answer:
    """What a client said to a question.

    Attributes
    ----------
    day
        The day that is planned or was done.
    is_own
        Whether it was said of the zone itself and not of the whole property.
    is_record
        Whether it is no answer but a visit on record: nothing that is said takes that back.
    """

    answer: str
    day: date | None = None
    answered_on: date | None = None
    is_own: bool = False
    is_record: bool = False


@dataclass(frozen=True, eq=False)
class Answered:
    """How a question stands on each day.

    Attributes
    ----------
    answers
        What was ever said to it, the first standing for nothing.
    at
        Which of them counts on each day, shape (days,).
    counts
        Whether it is young enough to count.
    done_at
        Which of them tells of a sowing that stands, whatever else is planned; 0 for none.
    """

    days: Days
    answers: tuple[Answer, ...]
    at: npt.NDArray[np.int64]
    counts: Flags
    done_at: npt.NDArray[np.int64]

    def is_(self, answer: str) -> Flags:
        """Return the days on which this answer counts; ``not_asked`` where none does.

        What is to be done on a later day is planned until then.
        """
        same = np.array([found.answer == answer for found in self.answers])[self.at]
        if answer == NOT_ASKED:
            none: Flags = (same | ~self.counts) & (self.done_at == NEVER)
            return none
        if answer == DONE:
            return self.done_at > NEVER
        if answer == PLANNED:
            same = same | self._is_to_come()
        found: Flags = same & self.counts
        return found

    def _is_to_come(self) -> Flags:
        is_done = np.array([found.answer == DONE for found in self.answers])[self.at]
        to_come: Flags = is_done & (self.day() > self.days)
        return to_come

    def day(self) -> Days:
        """Return the day that the answer names; 0 where it names none."""
        return np.array([ordinal(found.day) for found in self.answers])[self.at]

    def sowing(self) -> tuple[Days, Days]:
        """Return the day of the sowing that stands, and on which it was told; 0 for none."""
        days = np.array([ordinal(found.day) for found in self.answers])
        said = np.array([ordinal(found.answered_on) for found in self.answers])
        return days[self.done_at], said[self.done_at]

    def on(self, place: int) -> Answer:
        """Return the answer that counts on one day; ``not_asked`` if none does."""
        found = self.answers[int(self.at[place])]
        if not self.counts[place]:
            return Answer(NOT_ASKED)
        if found.answer == DONE and ordinal(found.day) > int(self.days[place]):
            return Answer(PLANNED, found.day, found.answered_on, found.is_own)
        return found


def answered(told: Sequence[Answer], sown: Sequence[date], question: Row, days: Days) -> Answered:
    """Return how a question stands on each day.

    Parameters
    ----------
    told
        What was said to it, for the zone and for its property.
    sown
        Days of sowings on record, if the question is about them.
    question
        A row of the table question.
    days
        The days asked about, shape (days,).
    """
    records = [Answer(DONE, day, day, is_record=True) for day in sown]
    answers = (Answer(NOT_ASKED), *sorted([*told, *records], key=lambda a: _order(a, question)))
    said_on = np.array([ordinal(found.answered_on) for found in answers])
    is_known = said_on[:, None] <= days
    counts = np.stack([_counts(found, question, days) for found in answers])
    stands = is_known & counts & ~_taken_back(answers, said_on, is_known, question)
    # Standing answers go before others, and of either the last in order: the newest.
    number = np.arange(len(answers))[:, None]
    at = np.where(is_known, number + len(answers) * stands, 0).argmax(axis=0)
    is_done = np.array([found.answer == DONE for found in answers])[:, None]
    has_come = np.array([ordinal(found.day) for found in answers])[:, None] <= days
    done_at = np.where(stands & is_done & has_come, number, 0).max(axis=0)
    return Answered(days, answers, at, counts[at, np.arange(len(days))], done_at)


def _order(found: Answer, question: Row) -> tuple[int, bool, bool, int, int, str]:
    """Return what sorts answers: the newest last, of one day the zone's own, then the stricter.

    The order of a file says nothing of time and is never looked at.
    """
    permits = found.answer in listed(question["permits"])
    strictness = [NOT_ASKED, DONE, PLANNED].index(found.answer) + 1 if _is_of(found) else 0
    # A plan without its day holds most, then the one that comes first.
    soonness = _FAR - ordinal(found.day)
    own_day = found.is_own and not found.is_record
    return ordinal(found.answered_on), own_day, not permits, strictness, soonness, found.answer


def _is_of(found: Answer) -> bool:
    return found.answer in {NOT_ASKED, DONE, PLANNED}


def _counts(found: Answer, question: Row, days: Days) -> Flags:
    """Return the days on which an answer is young enough to count."""
    good_for_d = question["good_for_days"]
    if found.answer in listed(question["permits"]) and question["permits_for_days"] is not None:
        good_for_d = question["permits_for_days"]
    if good_for_d is None:
        return np.ones(len(days), dtype=np.bool_)
    newest = ordinal(found.answered_on)
    if found.answer in listed(question["standing"]):
        newest = max(newest, ordinal(found.day))
    if newest == NEVER:  # what holds for days only says nothing without its own day
        return np.full(len(days), good_for_d > SHORT_LIVED_D)
    young: Flags = days - newest <= good_for_d
    return young


def _taken_back(answers: Sequence[Answer], said_on: Days, is_known: Flags, question: Row) -> Flags:
    """Return where answers do not stand: they never do, or one for the same ground came later."""
    standing = listed(question["standing"])
    # A question that was put and not answered takes nothing back.
    lifts = [found.answer not in (*standing, NOT_ASKED) for found in answers]
    taken = np.zeros(is_known.shape, dtype=np.bool_)
    for place, found in enumerate(answers):
        if found.answer not in standing:
            taken[place] = True
            continue
        if found.is_record or not said_on[place]:
            continue
        for later in range(place + 1, len(answers)):
            of_same_ground = answers[later].is_own == found.is_own
            # A sowing that was carried out ends the plan for it.
            is_fulfilled = found.answer == PLANNED and answers[later].answer == DONE
            lifted = of_same_ground and (lifts[later] or is_fulfilled)
            if said_on[later] > said_on[place] and (lifted or answers[later].is_record):
                taken[place] |= is_known[later]
    return taken


def ordinal(day: date | None) -> int:
    """Return a day as its ordinal; 0 for none."""
    return NEVER if day is None else day.toordinal()
