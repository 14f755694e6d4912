"""The reference tables that the season is judged by, in one bundle."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt

from turfmap.foundations.definitions import Row, Table, table
from turfmap.season.window_rows import WindowRows, grouped

# Products with their figures, by active ingredient and column; see `turfmap.season.book`.
Book = Mapping[tuple[str, str], tuple[tuple[str, float | None], ...]]
# A hold of this basis turns on every active ingredient that was put down.
BEFORE_SEED = "reseed_interval"


@dataclass(frozen=True)
class Needs:
    """What a task's judgement depends on besides the ground.

    Attributes
    ----------
    questions, tasks
        Names of the questions, and of the tasks whose visits count.
    moved_by, chosen_by
        Of those, the tasks and questions that its windows turn on.
    actives
        The active ingredients that serve it, of a sowing all there are; a visit that put one down,
        or may have, counts whatever it was for.
    """

    questions: tuple[str, ...]
    tasks: tuple[str, ...]
    moved_by: tuple[str, ...]
    chosen_by: tuple[str, ...]
    actives: frozenset[str]


@dataclass(frozen=True, eq=False)
class Rules:
    """Reference tables, with what is looked up in them most.

    Attributes
    ----------
    book
        What the user's product book says; no table.
    """

    task: Table
    window: Table
    hold: Table
    question: Table
    choice: Table
    tolerance: Table
    active_ingredient: Table
    turf_species: Table
    bed_type: Table
    nitrogen: Table
    mowing: Table
    shade: Table
    sun_need: Table
    plant: Table
    trial: Table
    state: Table
    source: Table
    book: Book = field(default_factory=dict)

    @cached_property
    def verdicts(self) -> dict[tuple[str, str], Row]:
        """The row of the tolerance table for each active ingredient and grass."""
        return {(row["active_ingredient"], row["species"]): row for row in self.tolerance.rows}

    @cached_property
    def questions(self) -> dict[str, Row]:
        """Questions by name."""
        return self.question.by("question")

    @cached_property
    def species(self) -> dict[str, Row]:
        """Turf species by name."""
        return self.turf_species.by("species")

    @cached_property
    def actives(self) -> dict[str, Row]:
        """Active ingredients by name."""
        return self.active_ingredient.by("active_ingredient")

    @cached_property
    def sun_needs(self) -> dict[str, Row]:
        """The rows of the table sun_need by grass."""
        return self.sun_need.by("species")

    @cached_property
    def most_sun_h(self) -> dict[str, float]:
        """The most hours of sun a day in each class of shade [h]."""
        return {row["shade"]: float(row["sun_h_to"]) for row in self.shade.rows}

    @cached_property
    def titles(self) -> dict[str, str]:
        """Titles of sources by their id."""
        return {row["id"]: row["title"] for row in self.source.rows}

    @cached_property
    def state_names(self) -> tuple[str, ...]:
        """States by their code, which is their place in the table."""
        return tuple(row["state"] for row in self.state.rows)

    @cached_property
    def state_code(self) -> dict[str, int]:
        """Codes by state."""
        return {name: code for code, name in enumerate(self.state_names)}

    @cached_property
    def state_order(self) -> npt.NDArray[np.int64]:
        """Twice the place of each state in a zone's list, by code, shape (states,)."""
        return np.array([2 * row["order"] for row in self.state.rows], dtype=np.int64)

    @property
    def order_of_unknown(self) -> int:
        """The place, on that scale, of a task without a window: after what opens soon."""
        return int(self.state_order[self.state_code["soon"]]) + 1

    @property
    def order_of_reminders(self) -> int:
        """What is added on that scale for a task that only reminds: it comes after all work."""
        return int(self.state_order.max()) + 2

    @cached_property
    def task_order(self) -> dict[str, int]:
        """The place of each task in the order of the alphabet."""
        return {name: place for place, name in enumerate(sorted(self.task.by("task")))}

    @cached_property
    def windows(self) -> dict[str, list[WindowRows]]:
        """The windows of each task."""
        return grouped(self.window.rows)

    @cached_property
    def latitude_bands(self) -> npt.NDArray[np.float64]:
        """The latitudes at which windows change, from the south [deg]."""
        return self._bands("latitude", -90.0)

    @cached_property
    def longitude_bands(self) -> npt.NDArray[np.float64]:
        """The longitudes at which windows change, from the west [deg]."""
        return self._bands("longitude", -180.0)

    def _bands(self, what: str, least: float) -> npt.NDArray[np.float64]:
        names = (f"{what}_from", f"{what}_to")
        edges = {row[name] for row in self.window.rows for name in names} - {None}
        return np.array(sorted({least, *edges}))

    @cached_property
    def needs(self) -> dict[str, Needs]:
        """What each task's judgement depends on, read from the tables."""
        return {row["task"]: self._needs(row) for row in self.task.rows}

    def _needs(self, task: Row) -> Needs:
        name = task["task"]
        holds, windows = self.holds_of[name], self.windows.get(name, [])
        rows = [row for window in windows for row in (*window.opens, *window.closes)]
        chosen_by = {row["question"] for row in rows} - {None}
        moved_by = {row["after_task"] for row in rows} - {None}
        questions = {row["question"] for row in holds} | {task["only_question"]} - {None}
        tasks = {other for row in holds for other in listed(row["other_tasks"])} | {name}
        actives = frozenset(row["active_ingredient"] for row in self.choices_of[name])
        questions |= chosen_by | ({"overseeding", "fully_dormant"} if actives else set())
        questions |= {row["question"] for row in self.minded_of[name]}
        if any(row["basis"] == BEFORE_SEED for row in holds):
            actives = frozenset(self.actives)
        if "overseeding" in tasks:
            questions |= {"overseeding"}  # an answer tells of a sowing as a visit does
        if "overseeding" in questions:
            tasks |= {"overseeding"}  # a sowing on record answers the question
        return Needs(
            tuple(sorted(questions - {None})),
            tuple(sorted(tasks | moved_by)),
            tuple(sorted(moved_by)),
            tuple(sorted(chosen_by)),
            actives,
        )

    @cached_property
    def holds_of(self) -> dict[str, list[Row]]:
        """Rows of the hold table by the task that they block."""
        return {
            name: [row for row in self.hold.rows if name in listed(row["tasks"])]
            for name in self.task.by("task")
        }

    @cached_property
    def minded_of(self) -> dict[str, list[Row]]:
        """Rows of the question table of which an answer is told beside a task."""
        return {
            name: [row for row in self.question.rows if name in listed(row["mind_tasks"])]
            for name in self.task.by("task")
        }

    @cached_property
    def choices_of(self) -> dict[str, list[Row]]:
        """Rows of the choice table by task."""
        return {
            name: [row for row in self.choice.rows if row["task"] == name]
            for name in self.task.by("task")
        }


TABLES = tuple(name for name in Rules.__dataclass_fields__ if name != "book")


@lru_cache(maxsize=1)
def shipped_rules() -> Rules:
    """Return the rules as turfmap ships them."""
    shipped: dict[str, Any] = {name: table(name) for name in TABLES}
    return Rules(**shipped)


def rules_with(own: Mapping[str, Sequence[Row]]) -> Rules:
    """Return the rules with a user's own rows put over the shipped ones of the same key.

    Parameters
    ----------
    own
        Rows by the name of their table; tables that the season does not use are left aside.
    """
    mine = {name: own[name] for name in TABLES if own.get(name)}
    if not mine:
        return shipped_rules()
    shipped = shipped_rules()
    return replace(
        shipped, **{name: getattr(shipped, name).overridden(rows) for name, rows in mine.items()}
    )


@lru_cache(maxsize=4096)
def listed(text: str | None) -> tuple[str, ...]:
    """Return what a column lists, separated by semicolons; nothing for an empty one."""
    return tuple(part.strip() for part in (text or "").split(";") if part.strip())
