"""The reference tables that the season is judged by, in one bundle."""

from dataclasses import dataclass
from functools import cached_property, lru_cache

from turfmap.foundations.definitions import Row, Table, table


@dataclass(frozen=True, eq=False)
class Rules:
    """Reference tables, with what is looked up in them most."""

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
    state: Table
    source: Table

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
    def titles(self) -> dict[str, str]:
        """Titles of sources by their id."""
        return {row["id"]: row["title"] for row in self.source.rows}

    @cached_property
    def holds_of(self) -> dict[str, list[Row]]:
        """Rows of the hold table by the task that they block."""
        return {
            name: [row for row in self.hold.rows if name in listed(row["tasks"])]
            for name in self.task.by("task")
        }

    @cached_property
    def choices_of(self) -> dict[str, list[Row]]:
        """Rows of the choice table by task."""
        return {
            name: [row for row in self.choice.rows if row["task"] == name]
            for name in self.task.by("task")
        }


@lru_cache(maxsize=1)
def shipped_rules() -> Rules:
    """Return the rules as turfmap ships them."""
    return Rules(**{name: table(name) for name in Rules.__dataclass_fields__})


@lru_cache(maxsize=4096)
def listed(text: str | None) -> tuple[str, ...]:
    """Return what a column lists, separated by semicolons; nothing for an empty one."""
    return tuple(part.strip() for part in (text or "").split(";") if part.strip())
