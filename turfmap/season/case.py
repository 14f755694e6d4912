"""What is known of one patch of ground, and how it stands on each of the days asked about.

Days are ordinals (`datetime.date.toordinal`) in arrays of shape (days,); 0 stands for no day. What
is known on a day never depends on what was written down, said or measured after it.
"""

from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

from turfmap.season.known_weather import KnownWeather
from turfmap.season.rules import Rules

NOT_ASKED = "not_asked"
NEVER = 0

Days = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]
Made = TypeVar("Made")


@dataclass(frozen=True)
class Ground:
    """What the map says of a zone; None where it says nothing.

    Attributes
    ----------
    latitude
        Of its middle, north positive, rounded down to the band that windows change at [deg].
    cell
        Which of the weather records is its own.
    """

    kind: str
    species: str | None
    bed_type: str | None
    latitude: float
    irrigated: bool | None
    soil: str | None = None
    cell: int = 0


@dataclass(frozen=True)
class Answer:
    """What a client said to a question."""

    answer: str
    day: date | None = None
    answered_on: date | None = None


@dataclass(frozen=True)
class Visit:
    """What was done on a day.

    Attributes
    ----------
    put_down
        The active ingredients put down, each with how much [lb per acre], None where nobody wrote
        that down; empty if there were none, or nobody wrote which.
    """

    day: date
    put_down: tuple[tuple[str, float | None], ...] = ()

    @property
    def actives(self) -> tuple[str, ...]:
        """The names of the active ingredients put down."""
        return tuple(name for name, _ in self.put_down)


Told = Mapping[str, tuple[Answer, ...]]
Visits = Mapping[str, tuple[Visit, ...]]


class Horizon:
    """The days asked about, and what has been worked out for them once already.

    Attributes
    ----------
    years, month_days
        The year of each day, and 100 times its month plus its day; shape (days,).
    """

    def __init__(self, days: Days) -> None:
        self.days = days
        dates = [date.fromordinal(int(day)) for day in days]
        self.years = np.array([day.year for day in dates], dtype=np.int64)
        self.month_days = np.array([100 * day.month + day.day for day in dates], dtype=np.int64)
        self._made: dict[Hashable, Any] = {}

    def once(self, key: Hashable, make: Callable[[], Made]) -> Made:
        """Return what was made under a key, making it if it is new."""
        if key not in self._made:
            self._made[key] = make()
        made: Made = self._made[key]
        return made


@dataclass(frozen=True, eq=False)
class Answered:
    """How a question stands on each day.

    Attributes
    ----------
    answers
        What was ever said to it, the first standing for nothing.
    at
        Which of them is the newest on each day, shape (days,).
    counts
        Whether it is young enough to count.
    is_sown
        Whether a sowing on record is so young that it stands, whatever is planned next.
    """

    answers: tuple[Answer, ...]
    at: npt.NDArray[np.int64]
    counts: Flags
    is_sown: Flags

    def is_(self, answer: str) -> Flags:
        """Return the days on which this answer counts; ``not_asked`` where none does."""
        same = np.array([found.answer == answer for found in self.answers])[self.at]
        if answer == NOT_ASKED:
            return (same | ~self.counts) & ~self.is_sown
        return (same & self.counts) | (self.is_sown if answer == "done" else np.False_)

    def said_on(self) -> Days:
        """Return the day on which the newest answer was given; 0 where nobody wrote it down."""
        return np.array([_ordinal(found.answered_on) for found in self.answers])[self.at]

    def day(self) -> Days:
        """Return the day that the newest answer names; 0 where it names none."""
        return np.array([_ordinal(found.day) for found in self.answers])[self.at]


@dataclass(frozen=True, eq=False)
class Case:
    """All that the judgement of a patch of ground depends on, over the days asked about.

    Attributes
    ----------
    told
        What was said to each question, the answer that counts most last; see `situations`.
    visits
        What was done, by task, oldest first.
    horizon
        Of all cases judged together: what is alike in them is one object, found by identity.
    """

    ground: Ground
    told: Told
    visits: Visits
    known: KnownWeather
    horizon: Horizon
    rules: Rules

    @property
    def days(self) -> Days:
        """The days asked about."""
        return self.horizon.days

    @cached_property
    def turf_season(self) -> str | None:
        """``warm`` or ``cool``; None if the grass is not known."""
        row = self.rules.species.get(self.ground.species or "")
        return None if row is None else str(row["season"])

    def answered(self, question: str) -> Answered:
        """Return how a question stands on each day."""
        told = self.told.get(question, ())
        sowings = self.visits.get("overseeding", ()) if question == "overseeding" else ()
        good_for_d = self.rules.questions[question]["good_for_days"]
        return self.horizon.once(
            ("answered", question, id(told), id(sowings)),
            lambda: _answered(told, tuple(v.day for v in sowings), good_for_d, self.days),
        )

    def last_visit(self, tasks: Iterable[str]) -> Days:
        """Return the last day on which any of these tasks was done; 0 where none was."""
        done = sorted(visit.day for task in tasks for visit in self.visits.get(task, ()))
        return last_of(done, self.days)


def last_of(done: Iterable[date], days: Days) -> Days:
    """Return the last of some days, in order, that had come on each day; 0 where none had."""
    ordinals = np.array([NEVER, *(day.toordinal() for day in done)], dtype=np.int64)
    return ordinals[np.searchsorted(ordinals, days, side="right") - 1]


# An answer that is good for no longer than this must say when it was given.
SHORT_LIVED_D = 30


def _answered(
    told: tuple[Answer, ...], sown: tuple[date, ...], good_for_d: int | None, days: Days
) -> Answered:
    answers = (Answer(NOT_ASKED), *told)
    said_on = np.array([NEVER, *(_ordinal(found.answered_on) for found in told)])
    at = np.searchsorted(said_on[1:], days, side="right")
    is_sown = np.zeros(len(days), dtype=np.bool_)
    if sown:
        # A recorded sowing stands as done until it is old; what is planned next stands beside it.
        last_sown = last_of(sown, days)
        is_sown = (last_sown > NEVER) & (days - last_sown <= (good_for_d or days))
        planned = np.array([found.answer == "planned" for found in answers])[at]
        stands = (last_sown > NEVER) & ((said_on[at] <= last_sown) | (is_sown & ~planned))
        ordinals = np.array([day.toordinal() for day in sown])
        at = np.where(stands, len(answers) + np.searchsorted(ordinals, last_sown), at)
        answers = (*answers, *(Answer("done", day, day) for day in sown))
    newest = np.array([max(_ordinal(found.day), _ordinal(found.answered_on)) for found in answers])
    counts = np.ones(len(days), dtype=np.bool_)
    if good_for_d is not None:
        # What holds for days only says nothing without its own day.
        undated_counts = (newest[at] == NEVER) & (good_for_d > SHORT_LIVED_D)
        counts = undated_counts | (days - newest[at] <= good_for_d)
    return Answered(answers, at, counts, is_sown)


def _ordinal(day: date | None) -> int:
    return NEVER if day is None else day.toordinal()


@dataclass(frozen=True, eq=False)
class Moment:
    """A case on one of its days, for putting it in words.

    Attributes
    ----------
    place
        The day's place among the days asked about.
    all_visits
        Everything that was done, also what the judgement does not turn on.
    """

    case: Case
    place: int
    all_visits: Visits = field(default_factory=dict)

    @property
    def as_of(self) -> date:
        """The day."""
        return date.fromordinal(int(self.case.days[self.place]))

    @property
    def ground(self) -> Ground:
        """The ground."""
        return self.case.ground

    @property
    def rules(self) -> Rules:
        """The rules."""
        return self.case.rules

    def answered(self, question: str) -> Answer:
        """Return the answer that counts today; ``not_asked`` if there is none or it is too old."""
        found = self.case.answered(question)
        return (
            found.answers[found.at[self.place]] if found.counts[self.place] else Answer(NOT_ASKED)
        )
