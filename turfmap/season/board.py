"""Zones judged in bulk over days: every task of every zone, each different question once.

What a task does on a zone depends on little of what is known of it: its ground, the answers to a
few questions, a few visits. Zones that are alike in that share one judgement, which is made for
all days at once; the zones only point to it.
"""

from collections.abc import Sequence
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from turfmap.foundations.definitions import Row
from turfmap.season.case import Case, Days, Ground, Horizon
from turfmap.season.judging import Judged, States, is_for, judged
from turfmap.season.known_weather import KnownWeather
from turfmap.season.rules import Needs, Rules
from turfmap.season.situations import Situation
from turfmap.season.visits import Visit
from turfmap.season.weather import Weather
from turfmap.season.windows import Almanac

Places = npt.NDArray[np.int64]
NOTHING = -1
_LAST = np.iinfo(np.int64).max


class Board:
    """What is known of zones, judged for days.

    Parameters
    ----------
    situations
        What is known of each sort of zone.
    which
        The situation of each zone, shape (zones,).
    weather
        The record of each weather cell.
    days
        The days asked about, as ordinals, shape (days,).
    """

    def __init__(
        self,
        situations: Sequence[Situation],
        which: Places,
        *,
        weather: Sequence[Weather],
        days: Days,
        rules: Rules,
    ) -> None:
        self.situations = situations
        self.which = which
        self.days = days
        self.rules = rules
        self._horizon = Horizon(days)
        self.known = [KnownWeather(record, days) for record in weather]
        self._almanacs = [Almanac(rules, known) for known in self.known]
        self._judged: dict[Any, Judged] = {}

    @cached_property
    def tasks(self) -> tuple[Row, ...]:
        """The rows of the task table."""
        return self.rules.task.rows

    @cached_property
    def judged(self) -> list[list[Judged | None]]:
        """For each situation the judgement of each task; None where it is not for the ground."""
        return [
            [
                self._judgement(task, situation)
                if is_for(task, situation.ground, season_of(situation.ground, self.rules))
                else None
                for task in self.tasks
            ]
            for situation in self.situations
        ]

    def _judgement(self, task: Row, situation: Situation) -> Judged:
        needs = self.rules.needs[task["task"]]
        ground = situation.ground
        told = {name: situation.told[name] for name in needs.questions if name in situation.told}
        visits = {name: situation.visits[name] for name in needs.tasks if name in situation.visits}
        if needs.actives:
            visits |= self._put_down(needs, situation)
        # What is alike is one object, which the situations keep alive.
        key = (
            *(task["task"], id(ground)),
            *((name, id(known)) for name, known in told.items()),
            *((name, id(known)) for name, known in visits.items()),
        )
        if key not in self._judged:
            case = Case(ground, told, visits, self.known[ground.cell], self._horizon, self.rules)
            self._judged[key] = judged(task, case, self._almanacs[ground.cell])
        return self._judged[key]

    def _put_down(self, needs: Needs, situation: Situation) -> dict[str, tuple[Visit, ...]]:
        """Return the visits of other tasks that put down an active of this, or may have."""
        return {
            task: done
            for task, done in situation.visits.items()
            if task not in needs.tasks
            and any(needs.actives.intersection((*visit.actives, *visit.may_hold)) for visit in done)
        }

    @property
    def judgements(self) -> int:
        """How many different judgements were made."""
        return len(self._judged)

    def states(self, task: str) -> States:
        """Return the state of a task on each zone and day as codes, shape (zones, days).

        -1 where the task is not for the ground, or not for it on that day.
        """
        place = [row["task"] for row in self.tasks].index(task)
        mine = [row[place] for row in self.judged]
        distinct = {id(each): each for each in mine if each is not None}
        rows = {key: number + 1 for number, key in enumerate(distinct)}
        nothing = np.full(len(self.days), NOTHING, dtype=np.int8)
        table = np.stack([nothing, *(codes(each) for each in distinct.values())])
        of_situation = np.array([rows.get(id(each), 0) for each in mine], dtype=np.int64)
        found: States = table[of_situation[self.which]]
        return found

    def first(self, situation: int) -> Places:
        """Return the place of the task that comes first on each day; -1 where there is none."""
        mine = self.judged[situation]
        places = [place for place, each in enumerate(mine) if each is not None]
        if not places:
            return np.full(len(self.days), NOTHING, dtype=np.int64)
        found = [mine[place] for place in places]
        ranks = np.stack([np.where(e.concerns, e.rank, _LAST) for e in found if e is not None])
        best = ranks.argmin(axis=0)
        none = ranks[best, np.arange(len(best))] == _LAST
        return np.where(none, NOTHING, np.array(places)[best])

    def ranked(self, situation: int, place: int) -> list[Judged]:
        """Return the judgements of a situation that concern it on a day, what is first first."""
        mine = [each for each in self.judged[situation] if each is not None]
        concerned = [each for each in mine if each.concerns[place]]
        return sorted(concerned, key=lambda each: int(each.rank[place]))


def season_of(ground: Ground, rules: Rules) -> str | None:
    """Return the season of a ground's grass, ``warm`` or ``cool``; None if it is not known."""
    row = rules.species.get(ground.species or "")
    return None if row is None else row["season"]


def codes(found: Judged) -> States:
    """Return the states of a judgement as codes; -1 on days on which it is not for the ground."""
    return np.where(found.concerns, found.states, NOTHING).astype(np.int8)
