"""One task on one patch of ground over the days asked about: its state, window and holds."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from turfmap.foundations.definitions import Row
from turfmap.season.actives import Bearing, Verdict, bearings
from turfmap.season.case import NEVER, Case, Days, Flags, Moment
from turfmap.season.finding import Finding, Hold, Work
from turfmap.season.holds import holds
from turfmap.season.rules import Rules, listed
from turfmap.season.windows import NONE, SOON_D, Almanac, Counting, Window, lately_closed

EARLY_D = 10  # a visit so long before a window opens was meant for it
LATE_D = 30

Places = npt.NDArray[np.int64]
States = npt.NDArray[np.int8]


@dataclass(frozen=True)
class Judgement:
    """How a task stands on one day.

    Attributes
    ----------
    state
        A row's id of the table state.
    window
        The opening that counts; None where no window is known for the place.
    findings
        Every hold in force, whether or not the window is open.
    done_on
        The visit recorded for the window.
    verdicts
        What the ground bears of each active ingredient that serves it.
    """

    task: Row
    state: str
    window: Window | None
    findings: tuple[Finding, ...]
    done_on: date | None
    verdicts: tuple[Verdict, ...]


@dataclass(frozen=True, eq=False)
class Judged:
    """How a task stands on each day; arrays of shape (days,).

    Attributes
    ----------
    concerns
        The days on which the task is for this ground at all.
    states
        Place in the names of `Rules.state_names`.
    counting, chosen
        The openings, and the place of the one that counts; -1 for none.
    done_on
        The visit recorded for it; 0 for none.
    bearings
        What the ground bears of each active ingredient that serves it.
    """

    task: Row
    case: Case
    concerns: Flags
    states: States
    counting: Counting
    chosen: Places
    done_on: Days
    holds: tuple[Hold, ...]
    bearings: tuple[Bearing, ...]

    @cached_property
    def rank(self) -> Places:
        """Numbers that sort the tasks of a zone: what is wanted first is lowest."""
        opens, closes = self.counting.opens(self.chosen), self.counting.closes(self.chosen)
        return _rank(self.task, self.case.rules, self.states, opens, closes)

    def at(self, place: int) -> Judgement:
        """Return the judgement of one of the days, in words where words are needed."""
        moment = Moment(self.case, place)
        chosen, done_on = int(self.chosen[place]), int(self.done_on[place])
        found = [hold.at(moment) for hold in self.holds]
        return Judgement(
            self.task,
            self.case.rules.state_names[self.states[place]],
            None if chosen == NONE else self.counting.openings[chosen].at(place),
            tuple(finding for finding in found if finding is not None),
            None if done_on == NEVER else date.fromordinal(done_on),
            tuple(bearing.at(moment) for bearing in self.bearings),
        )


def is_for(task: Row, ground: Any, season: str | None) -> bool:
    """Return whether a task can be for a patch of ground, whatever the client said."""
    if ground.kind not in listed(task["ground"]):
        return False
    if season and task["turf_season"] not in {None, season}:
        return False
    if season and task["species"] and ground.species not in listed(task["species"]):
        return False
    if ground.bed_type and task["bed_types"] and ground.bed_type not in listed(task["bed_types"]):
        return False
    return not (task["needs_irrigation"] and ground.irrigated is False)


def judged(task: Row, case: Case, almanac: Almanac) -> Judged:
    """Return how a task stands on each day on ground that it can be for.

    Parameters
    ----------
    task
        A row of the table task.
    case
        What is known of the zone.
    almanac
        The windows of every task under the zone's weather.
    """
    name = task["task"]
    counting = almanac.counting(name, case)
    borne = bearings(name, case, is_open=counting.is_open)
    found = holds(Work(name, counting.is_open, borne), case)
    none = np.zeros(len(case.days), dtype=np.bool_)
    is_held = np.logical_or.reduce([none, *(hold.is_held for hold in found)])
    asks = np.logical_or.reduce([none, *(hold.asks for hold in found)])
    done_on = _done(name, case, counting)
    chosen, states = _states(case.rules, counting, is_held, asks, done_on)
    return Judged(
        task,
        case,
        _concerns(task, case),
        states,
        counting,
        chosen,
        done_on,
        tuple(found),
        borne,
    )


def _concerns(task: Row, case: Case) -> Flags:
    question = task["only_question"]
    if question is None:
        return np.ones(len(case.days), dtype=np.bool_)
    return case.answered(question).is_(task["only_answer"])


def _done(task: str, case: Case, counting: Counting) -> Days:
    """Return the first visit by each day that was meant for the window; 0 for none."""
    done_on = np.zeros(len(case.days), dtype=np.int64)
    for visit in reversed(case.visits.get(task, ())):
        done = visit.day.toordinal()
        meant = (counting.first_day - EARLY_D <= done) & (done <= counting.last_day + LATE_D)
        done_on[(case.days >= done) & meant] = done
    return done_on


def _states(
    rules: Rules, counting: Counting, is_held: Flags, asks: Flags, done_on: Days
) -> tuple[Places, States]:
    """Return the opening that counts and the state on each day."""
    code = rules.state_code
    chosen, states = counting.chosen, _without_holds(code, counting)
    if asks.any():
        states = np.where(counting.is_open & asks, code["ask"], states)
    if is_held.any():
        states = np.where(counting.is_open & is_held, code["held"], states)
        # What was held was not missed: the next window counts.
        passed = (states == code["missed"]) & is_held & (done_on == NEVER)
        if passed.any():
            passed &= counting.following != NONE
            chosen = np.where(passed, counting.following, chosen)
            soon = counting.opens(counting.following) <= counting.days + SOON_D
            states = np.where(passed, np.where(soon, code["soon"], code["later"]), states)
    if done_on.any():
        states = np.where(done_on > NEVER, code["done"], states)
    return chosen, states.astype(np.int8)


def _without_holds(code: Mapping[str, int], counting: Counting) -> Places:
    """Return the state on each day if nothing is held or done; no window is a question."""
    found: Places = np.select(
        [
            counting.chosen == NONE,
            counting.is_open,
            lately_closed(counting.last_day, counting.days),
            counting.first_day <= counting.days + SOON_D,
        ],
        [code[name] for name in ("ask", "due", "missed", "soon")],
        code["later"],
    )
    return found


def _rank(task: Row, rules: Rules, states: States, opens: Days, closes: Days) -> Places:
    """Return numbers that sort tasks: by state, then rank or what opens first.

    What can be done and what can be asked stand together, by rank. A task for which no window is
    known comes after what opens soon; one that only reminds comes after all work.
    """
    order = rules.state_order[states]
    is_now = order <= rules.state_order[rules.state_code["held"]]
    rank = np.int64(task["rank"])
    first = np.where(is_now, rank, opens)
    second = np.where(is_now, closes, rank)
    unknown = opens == NEVER
    order = np.where(unknown, rules.order_of_unknown, order)
    first, second = np.where(unknown, rank, first), np.where(unknown, 0, second)
    order = order + bool(task["reminder"]) * rules.order_of_reminders
    by_name: Places = ((order * 2**20 + first) * 2**20 + second) * 2**10 + rules.task_order[
        task["task"]
    ]
    return by_name
