"""What speaks against an active ingredient on each day."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from turfmap.season.case import Case, Flags, Moment


@dataclass(frozen=True, eq=False)
class Against:
    """A reason not to use an active ingredient; arrays of shape (days,).

    Attributes
    ----------
    stands
        The days on which it speaks against it.
    lacks
        The days on which it does so only for want of knowledge.
    words
        How it is said on one of those days.
    """

    stands: Flags
    lacks: Flags
    words: Callable[[Moment], str]


def nothing(case: Case) -> Against:
    """Return a reason that never stands."""
    never = np.zeros(len(case.days), dtype=np.bool_)
    return Against(never, never, lambda _moment: "")
