"""Which active ingredients a zone bears for a task, and what speaks against each."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from turfmap.foundations.definitions import Row
from turfmap.foundations.units import celsius
from turfmap.season import active_limits
from turfmap.season.against import Against
from turfmap.season.answered import NOT_ASKED
from turfmap.season.book import Figure, air_max_f, wait_before_seed_wk
from turfmap.season.case import Case, Flags, Moment

SOWN = "overseeded_ryegrass"
SAFE, CAUTION, DORMANT, NOT = "S", "C", "D", "N"
UNKNOWN = "?"
LETTERS = (SAFE, CAUTION, DORMANT, UNKNOWN, NOT)  # from what may be used to what may not
HOT_DAYS = 3
ASKED = ("overseeding", "fully_dormant")  # the questions that what a grass bears turns on


@dataclass(frozen=True)
class Verdict:
    """What a zone bears of one active ingredient on a day.

    Attributes
    ----------
    letter
        S, C, D or N as in the table tolerance, or ``?`` where it has no row.
    why
        What speaks against it on that day, in words; empty if nothing does.
    rows
        The rows it rests on.
    """

    active: str
    letter: str
    why: str
    rows: tuple[Row, ...]

    @property
    def is_from_memory(self) -> bool:
        """Whether a figure that it rests on was not read in print."""
        return any(row["how_read"] == "memory" for row in self.rows)


@dataclass(frozen=True, eq=False)
class Bearing:
    """What a zone bears of one active ingredient on each day; shape (days,).

    Attributes
    ----------
    letters
        Place in `LETTERS`.
    against
        What speaks against it, whatever the grass bears.
    not_looked
        Whether it is for dormant grass alone, and nobody has looked whether it is dormant.
    air_max
        The air temperature above which it is not used [degF]; its value None if none is entered.
    rows_on
        The rows that it rests on, by the place of a day.
    """

    active: str
    letters: npt.NDArray[np.int64]
    against: tuple[Against, ...]
    not_looked: Flags
    air_max: Figure
    rows_on: Callable[[int], tuple[Row, ...]]

    @cached_property
    def is_borne(self) -> Flags:
        """Whether the grass bears it, seed or no seed."""
        borne: Flags = self.letters <= LETTERS.index(CAUTION)
        return borne

    @cached_property
    def is_usable(self) -> Flags:
        """Whether nothing known speaks against it."""
        usable: Flags = self.is_borne & ~np.any([each.stands for each in self.against], axis=0)
        return usable

    @cached_property
    def lacks(self) -> Flags:
        """Whether it is only for want of knowledge that it may not be used."""
        unknown = np.any([each.lacks for each in self.against], axis=0)
        lacking: Flags = (self.letters == LETTERS.index(UNKNOWN)) | (self.is_borne & unknown)
        lacking |= self.not_looked
        return lacking

    def at(self, moment: Moment) -> Verdict:
        """Return what the zone bears on one day."""
        why = [each.words(moment) for each in self.against if each.stands[moment.place]]
        return Verdict(
            self.active,
            LETTERS[self.letters[moment.place]],
            "; ".join(why),
            self.rows_on(moment.place),
        )


def bearings(task: str, case: Case, *, is_open: Flags) -> tuple[Bearing, ...]:
    """Return what the zone bears of each active ingredient that serves a task.

    Parameters
    ----------
    is_open
        Whether the task's window is open; a day's weather says nothing of later windows.
    """
    told = tuple(id(case.told.get(name, ())) for name in ASKED)
    put_down = tuple(
        (name, id(done))
        for name, done in case.visits.items()
        if name == "overseeding" or any(visit.actives for visit in done)
    )
    key = ("bearings", task, case.ground.species, told, put_down)
    lasting = case.horizon.once(
        key, lambda: tuple(_bearing(row, case) for row in case.rules.choices_of[task])
    )
    if all(each.air_max.value is None for each in lasting):
        return lasting
    today = (*key, case.ground.cell, id(is_open))
    return case.horizon.once(today, lambda: tuple(_in_heat(one, case, is_open) for one in lasting))


def _bearing(choice: Row, case: Case) -> Bearing:
    active = choice["active_ingredient"]
    bare, sown = (
        case.rules.verdicts.get((active, grass)) for grass in (case.ground.species or "", SOWN)
    )
    is_sown = case.answered("overseeding").is_("done")
    letters = np.where(is_sown, max(_place(bare), _place(sown)), _place(bare))
    dormant = case.answered("fully_dormant").is_("yes") & (letters == LETTERS.index(DORMANT))
    letters = np.where(dormant, LETTERS.index(CAUTION), letters)
    not_looked = case.answered("fully_dormant").is_(NOT_ASKED) & (letters == LETTERS.index(DORMANT))

    def rows_on(place: int) -> tuple[Row, ...]:
        found = (choice, bare, sown if is_sown[place] else None)
        return tuple(row for row in found if row is not None)

    facts = case.rules.actives[active]
    against = (
        against_seed(facts, case),
        active_limits.too_soon(facts, case),
        active_limits.annual(facts, case),
    )
    return Bearing(active, letters, against, not_looked, air_max_f(facts, case.rules), rows_on)


def _in_heat(bearing: Bearing, case: Case, is_open: Flags) -> Bearing:
    """Return a bearing that also minds the last days' heat while the window is open.

    A temperature that nobody knows is not taken for cool.
    """
    most_f, by = bearing.air_max.value, bearing.air_max.by
    if most_f is None:
        return bearing
    highest_c, is_whole = case.known.highest("air_max_c", HOT_DAYS)
    is_hot = is_open & (highest_c > celsius(most_f))
    lacks = is_open & ~is_hot & ~is_whole

    def words(moment: Moment) -> str:
        limit = f"not above {most_f:g} F{by}"
        if is_hot[moment.place]:
            return f"{limit}, and one of the last {HOT_DAYS} days was hotter"
        return (
            f"{limit}, and what the last {HOT_DAYS} days reached is not known: read a thermometer"
        )

    return replace(bearing, against=(*bearing.against, Against(is_hot | lacks, lacks, words)))


def _place(row: Row | None) -> int:
    return LETTERS.index(UNKNOWN if row is None else row["verdict"])


def against_seed(facts: Row, case: Case) -> Against:
    """Return why an active ingredient may harm sown grass, and whether that is known."""
    answered = case.answered("overseeding")
    unasked, planned, day = answered.is_(NOT_ASKED), answered.is_("planned"), answered.day()
    figure = wait_before_seed_wk(facts, case.rules)
    wait_wk = figure.value
    left_d = day - case.days
    if wait_wk is None:
        is_near, lacks = planned, unasked | planned
    else:
        is_near = planned & ((day == 0) | (left_d < wait_wk * 7))
        lacks = unasked | (planned & (day == 0))

    def words(moment: Moment) -> str:
        if unasked[moment.place]:
            harm = "harm to sown ryegrass" if facts["kills_grass"] else "a wait before seed"
            return f"{harm}, and nobody has asked about overseeding"
        if wait_wk is None:
            return "the wait before seed is not known"
        wait = f"wait {wait_wk:g} weeks before seed{figure.by}"
        if day[moment.place] == 0:
            return f"{wait}, and the day of sowing is not known"
        return f"{wait}, {_left(int(left_d[moment.place]))}"

    return Against(unasked | is_near, lacks, words)


def _left(days: int) -> str:
    return f"{days} days are left" if days >= 0 else "the planned day is past"
