"""The heading of a weather CSV: whether it holds days or hours, and which columns are which."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from turfmap.foundations.checks import as_text
from turfmap.foundations.errors import Fault, InputFaultsError
from turfmap.store.weather_columns import DAILY, HOURLY, PLACE, Quantity, names

Problems = list[tuple[str, str]]


@dataclass(frozen=True)
class Heading:
    """How the lines of a weather CSV are to be read.

    Attributes
    ----------
    columns
        Our names for its columns, in their order; empty for one that is not to be used.
    when
        ``date`` if its lines are days, ``time`` if they are hours.
    used, placing
        The quantity of each column of weather, and of those that say where a station stands.
    """

    columns: list[str]
    when: str
    used: Mapping[str, Quantity]
    placing: Mapping[str, Quantity]

    @property
    def quantities(self) -> tuple[Quantity, ...]:
        """What a row holds."""
        return HOURLY if self.when == "time" else DAILY

    @property
    def unused(self) -> list[str]:
        """Columns that were not understood."""
        known = {self.when, "station", *self.used, *self.placing}
        return [name for name in self.columns if name and name not in known]


def weather_heading(heading: Sequence[str], *, renamed: Mapping[str, str], file: str) -> Heading:
    """Return how a file is to be read, from its heading.

    Parameters
    ----------
    renamed
        Their column names to ours.

    Raises
    ------
    InputFaultsError
        If there is no day or hour, no weather, or a column is given twice.
    """
    columns, faults = _renamed(heading, renamed)
    when = "time" if "time" in columns and "date" not in columns else "date"
    if when not in columns:
        faults.append(
            (
                "there is no column date and no column time",
                "name the column of days date (YYYY-MM-DD), or that of hours time"
                " (YYYY-MM-DDTHH:MM)",
            )
        )
    for name in dict.fromkeys(columns):
        if name and columns.count(name) > 1:
            faults.append((f"there are two columns {name}", "keep one"))
    quantities = HOURLY if when == "time" else DAILY
    used, problems = _used(columns, quantities)
    placing, more = _used(columns, PLACE)
    faults += problems + more
    if not faults and not used:
        few = ", ".join(names(quantities[:3]))
        faults.append(("it has no weather column", f"name columns as {few}"))
    if faults:
        raise InputFaultsError(Fault(file, "line 1", problem, mend) for problem, mend in faults)
    return Heading(columns, when, used, placing)


def _renamed(heading: Sequence[str], renamed: Mapping[str, str]) -> tuple[list[str], Problems]:
    """Return our names for the columns, and what is wrong with the user's names for them.

    A column that is given a name takes it, and the quantity, from any column that had it.
    """
    theirs = [as_text(name).lower() for name in heading]
    ours = {name.strip().lower(): our.strip().lower() for name, our in renamed.items()}
    every = (*DAILY, *HOURLY, *PLACE)
    wanted = {"date", "time", "station", *names(every)}
    faults = [
        (f"it has no column {name!r}", "correct what comes before the = of --map")
        for name in ours
        if name not in theirs
    ]
    faults += [
        (f"{our!r} is no column of weather", f"choose one of {', '.join(sorted(wanted))}")
        for our in ours.values()
        if our not in wanted
    ]
    taken = set(ours.values())
    for quantity in every:
        if taken & set(quantity.theirs):
            taken |= set(quantity.theirs)
    return [ours.get(name, "" if name in taken else name) for name in theirs], faults


def _used(
    columns: Sequence[str], quantities: Sequence[Quantity]
) -> tuple[dict[str, Quantity], Problems]:
    """Return the quantity of each column that is used, and what is given twice."""
    used: dict[str, Quantity] = {}
    faults = []
    for quantity in quantities:
        here = [name for name in quantity.theirs if name in columns]
        if len(here) > 1:
            faults.append((f"{' and '.join(here)} are both given", "keep one unit"))
        used.update(dict.fromkeys(here, quantity))
    return used, faults
