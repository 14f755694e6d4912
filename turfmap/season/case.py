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

from turfmap.season.answered import Answer, Answered, answered
from turfmap.season.known_weather import KnownWeather
from turfmap.season.rules import Rules
from turfmap.season.visits import Visits

NEVER = 0

Days = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]
Made = TypeVar("Made")


@dataclass(frozen=True)
class Ground:
    """What the map says of a zone; None where it says nothing.

    Attributes
    ----------
    latitude, longitude
        Of its middle, north and east positive, rounded down to the bands that windows change at
        [deg].
    lacks_sun
        Whether it surely has less sun than its grass needs.
    cell
        Which of the weather records is its own.
    """

    kind: str
    species: str | None
    bed_type: str | None
    latitude: float
    longitude: float
    irrigated: bool | None
    soil: str | None = None
    cell: int = 0
    lacks_sun: bool = False


Told = Mapping[str, tuple[Answer, ...]]


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
class Case:
    """All that the judgement of a patch of ground depends on, over the days asked about.

    Attributes
    ----------
    told
        What was said to each question, in any order; see `turfmap.season.answered`.
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
        row = self.rules.questions[question]
        return self.horizon.once(
            ("answered", question, id(told), id(sowings)),
            lambda: answered(told, [visit.day for visit in sowings], row, self.days),
        )

    def last_visit(self, tasks: Iterable[str]) -> Days:
        """Return the last day on which any of these tasks was done; 0 where none was."""
        done = sorted(visit.day for task in tasks for visit in self.visits.get(task, ()))
        return last_of(done, self.days)


def last_of(done: Iterable[date], days: Days) -> Days:
    """Return the last of some days, in order, that had come on each day; 0 where none had."""
    ordinals = np.array([NEVER, *(day.toordinal() for day in done)], dtype=np.int64)
    return ordinals[np.searchsorted(ordinals, days, side="right") - 1]


@dataclass(frozen=True, eq=False)
class Moment:
    """A case on one of its days, for putting it in words.

    Attributes
    ----------
    place
        The day's place among the days asked about.
    beside
        How the tasks of this ground stand on that day, by task.
    """

    case: Case
    place: int
    beside: Mapping[str, Any] = field(default_factory=dict)

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
        return self.case.answered(question).on(self.place)
