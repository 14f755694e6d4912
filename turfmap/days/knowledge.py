"""The reference tables that a load is judged by, a user's own rows over the shipped ones."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

from turfmap.foundations.definitions import Row, Table, table

NAMES = ("active_ingredient", "tolerance", "nitrogen", "choice")


@dataclass(frozen=True)
class Knowledge:
    """What is known of active ingredients and grasses.

    Attributes
    ----------
    tables
        Reference tables by name: those of `NAMES`.
    """

    tables: Mapping[str, Table]

    @cached_property
    def actives(self) -> dict[str, Row]:
        """Facts of each active ingredient."""
        return self.tables["active_ingredient"].by("active_ingredient")

    @cached_property
    def verdicts(self) -> dict[tuple[str, str], Row]:
        """What each grass bears of each active ingredient."""
        rows = self.tables["tolerance"].rows
        return {(row["active_ingredient"], row["species"]): row for row in rows}

    @property
    def nitrogen(self) -> tuple[Row, ...]:
        """Feedings by grass and month."""
        return self.tables["nitrogen"].rows

    @cached_property
    def serving(self) -> set[tuple[str, str]]:
        """Which active ingredient may serve which task: pairs of task and active ingredient."""
        rows = self.tables["choice"].rows
        return {(row["task"], row["active_ingredient"]) for row in rows}


@lru_cache(maxsize=1)
def shipped() -> Knowledge:
    """Return what ships with turfmap."""
    return Knowledge({name: table(name) for name in NAMES})


def knowledge(own: Mapping[str, Sequence[Row]]) -> Knowledge:
    """Return what ships with turfmap, with a user's own rows over it, by table."""
    return Knowledge({name: table(name).overridden(own.get(name, ())) for name in NAMES})
