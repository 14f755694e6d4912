"""The week board while somebody works on it: the plan of the moment, and the way back."""

from collections.abc import Callable
from threading import Lock
from typing import Any

from turfmap.days.plan.search import Effort
from turfmap.days.plan.second_passes import Rolled
from turfmap.days.plan.trucks import days_between
from turfmap.desk.spray_days import plan_told, with_stop_moved
from turfmap.desk.spray_inputs import Prepared
from turfmap.foundations.errors import input_fault
from turfmap.views.week_board import board_data

Plain = dict[str, Any]


class ChangedMeanwhileError(Exception):
    """Raised when another page has changed the plan since it was shown."""


class WeekBoard:
    """A plan on which stops are moved by hand; every plan it shows has passed the checker.

    Parameters
    ----------
    ready, rolled_on, effort
        What the plan was made from, the plan, and how it was searched.
    write
        Writes the views of a plan; None: there is nowhere to write to.
    """

    def __init__(
        self,
        ready: Prepared,
        rolled_on: Rolled,
        effort: Effort,
        *,
        write: Callable[[Plain], object] | None = None,
    ) -> None:
        self._ready, self._effort, self._write = ready, effort, write
        self._plans = [rolled_on]
        self._version = 0
        self._one_at_a_time = Lock()

    def shown(self) -> Plain:
        """Return the board with its version, and what can be done."""
        return {
            "board": board_data(self._told()),
            "version": self._version,
            "can_undo": len(self._plans) > 1,
            "can_write": self._write is not None,
        }

    def costs(self, stop: str, version: int) -> Plain:
        """Return what each truck-day would cost for a stop, or why it is not possible.

        Raises
        ------
        InputFaultsError
            If there is no such stop.
        ChangedMeanwhileError
            If the page shows an older plan.
        """
        with self._one_at_a_time:
            self._check(version)
            problem = self._ready.problem
            offers = []
            for day in days_between(problem.first, problem.last):
                for truck in self._ready.trucks:
                    at = {"day": day.isoformat(), "truck": truck.name}
                    _, said = with_stop_moved(self._ready, self._plans[-1], stop, **at)
                    offers.append({**at, **said})
            return {"offers": offers}

    def move(self, stop: str, day: str, truck: str, version: int) -> Plain:
        """Move a stop, and return the board.

        Raises
        ------
        InputFaultsError
            If there is no such stop, or a rule forbids it.
        ChangedMeanwhileError
            If the page shows an older plan.
        """
        with self._one_at_a_time:
            self._check(version)
            now = self._plans[-1]
            after, said = with_stop_moved(self._ready, now, stop, day=day, truck=truck)
            if after is None:
                raise input_fault(
                    f"{stop} cannot be moved there: {'; '.join(said['why'])}", "choose another day"
                )
            plan_told(self._ready, after, self._effort)  # checked before anybody sees it
            self._plans.append(after)
            self._version += 1
            return self.shown()

    def undo(self, version: int) -> Plain:
        """Take back the last move, and return the board.

        Raises
        ------
        InputFaultsError
            If there is none.
        ChangedMeanwhileError
            If the page shows an older plan.
        """
        with self._one_at_a_time:
            self._check(version)
            if len(self._plans) == 1:
                raise input_fault("there is no move to take back", "move a stop first")
            self._plans.pop()
            self._version += 1
            return self.shown()

    def write(self, version: int) -> Plain:
        """Write the views of the plan of the moment.

        Raises
        ------
        InputFaultsError
            If there is nowhere to write to, or it cannot be written.
        ChangedMeanwhileError
            If the page shows an older plan.
        """
        with self._one_at_a_time:
            self._check(version)
            if self._write is None:
                raise input_fault("no folder was given", "start turfmap days with --out")
            self._write(self._told())
            return {"written": True}

    def _told(self) -> Plain:
        return plan_told(self._ready, self._plans[-1], self._effort)

    def _check(self, version: int) -> None:
        if version != self._version:
            raise ChangedMeanwhileError
