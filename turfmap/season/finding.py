"""What a hold finds: what it does to a task on each day, and how it is said on one of them."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from turfmap.foundations.definitions import Row
from turfmap.season.actives import Bearing
from turfmap.season.case import Case, Flags, Moment

ASK, HELD = "ask", "held"
CODES = {ASK: 1, HELD: 2}
EFFECTS = {code: effect for effect, code in CODES.items()}

Effects = npt.NDArray[np.int8]
Words = Callable[[Moment], str]


@dataclass(frozen=True, eq=False)
class Work:
    """A task on a patch of ground, as holds look at it.

    Attributes
    ----------
    is_open
        Whether its window is open on each day, shape (days,).
    bearings
        What the ground bears of each active ingredient that serves it.
    """

    task: str
    is_open: Flags
    bearings: tuple[Bearing, ...]


@dataclass(frozen=True)
class Finding:
    """A hold in force on one day.

    Attributes
    ----------
    effect
        ``held`` or ``ask``.
    words
        The reason, as shown.
    row
        The row of the table hold.
    """

    effect: str
    words: str
    row: Row


@dataclass(frozen=True, eq=False)
class Hold:
    """A row of the hold table over the days asked about.

    Attributes
    ----------
    effects
        What it does on each day: 0 nothing, 1 ask, 2 held; shape (days,).
    held_words, ask_words
        How it is said on a day on which it holds, or asks.
    """

    row: Row
    effects: Effects
    held_words: Words
    ask_words: Words

    @cached_property
    def is_held(self) -> Flags:
        """Whether it holds, on each day."""
        held: Flags = self.effects == CODES[HELD]
        return held

    @cached_property
    def asks(self) -> Flags:
        """Whether it asks, on each day."""
        asks: Flags = self.effects == CODES[ASK]
        return asks

    @cached_property
    def is_ever(self) -> bool:
        """Whether it does anything on any day."""
        return bool(self.effects.any())

    def at(self, moment: Moment) -> Finding | None:
        """Return what it finds on one day; None if nothing."""
        effect = EFFECTS.get(int(self.effects[moment.place]))
        if effect is None:
            return None
        words = self.held_words if effect == HELD else self.ask_words
        return Finding(effect, words(moment), self.row)


def plain_words(row: Row) -> Words:
    """Return the words of a row, whatever the day."""
    return lambda _moment: str(row["words"])


def with_detail(row: Row, detail: Words) -> Words:
    """Return the words of a row, and what was found on this ground."""
    return lambda moment: f"{row['words']} {detail(moment)}".strip()


def where(row: Row, flags: Flags, words: Words | None = None) -> Hold:
    """Return a hold that does what its row says on certain days."""
    said = words or plain_words(row)
    effects = np.where(flags, CODES[row["effect"]], 0).astype(np.int8)
    return Hold(row, effects, said, said)


def asking(row: Row, flags: Flags, words: Words | None = None) -> Hold:
    """Return a hold that asks on certain days: the rule lacks what it needs."""
    said = words or plain_words(row)
    return Hold(row, np.where(flags, CODES[ASK], 0).astype(np.int8), said, said)


def either(row: Row, held: Flags, lacks: Flags, words: Words, ask_words: Words) -> Hold:
    """Return a hold that does what its row says on some days and asks on some others."""
    effects = np.where(held, CODES[row["effect"]], np.where(lacks, CODES[ASK], 0)).astype(np.int8)
    return Hold(row, effects, words, ask_words if row["effect"] == HELD else words)


def always(case: Case, *, flag: bool) -> Flags:
    """Return the same on every day."""
    return np.full(len(case.days), flag)
