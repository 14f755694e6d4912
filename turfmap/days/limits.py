"""A label's yearly limit: what went on the ground in its year, with the load that is planned.

A visit whose amount is not known makes the sum not known; it never counts as nothing.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from turfmap.foundations.dates import day_words

ROLLING, CALENDAR = "rolling_12_months", "calendar_year"


@dataclass(frozen=True)
class Applied:
    """An application on record.

    Attributes
    ----------
    lb_per_acre
        Of one active ingredient, on the ground that was treated; None where not known.
    words
        What it was, for the sum as shown.
    """

    day: date
    lb_per_acre: float | None
    words: str


@dataclass(frozen=True)
class YearSum:
    """The fullest year that holds a load.

    Attributes
    ----------
    applied
        What was applied in it, the load left out.
    load_lb_per_acre
        What the load adds.
    year
        Which year it is, in words.
    """

    applied: tuple[Applied, ...]
    load_lb_per_acre: float
    year: str

    @property
    def unknown(self) -> tuple[Applied, ...]:
        """Applications in an amount that is not known."""
        return tuple(one for one in self.applied if one.lb_per_acre is None)

    @property
    def before_lb_per_acre(self) -> float:
        """What is known to have been applied."""
        return math.fsum(one.lb_per_acre or 0.0 for one in self.applied)

    @property
    def total_lb_per_acre(self) -> float:
        """What is known, with the load: at the least, where something is unknown."""
        return self.before_lb_per_acre + self.load_lb_per_acre

    def arithmetic(self) -> str:
        """Return the sum as written on paper."""
        known = [one for one in self.applied if one.lb_per_acre is not None]
        parts = [f"{one.lb_per_acre:.4g} ({day_words(one.day)}, {one.words})" for one in known]
        parts.append(f"{self.load_lb_per_acre:.4g} (this load)")
        return f"{' + '.join(parts)} = {self.total_lb_per_acre:.4g} lb per acre in {self.year}"


def fullest_year(
    applied: Iterable[Applied],
    load_lb_per_acre: float,
    *,
    day: date | None,
    label_year: str | None,
) -> YearSum:
    """Return the year that holds the load and in which most was put down.

    Parameters
    ----------
    applied
        Every application of the active ingredient on the ground, in any order.
    day
        When the load is to go out. None: at the worst time that the record allows.
    label_year
        ``rolling_12_months`` or ``calendar_year``; None: whichever gives the larger sum.

    Notes
    -----
    A limit for any twelve months holds for those that start before the load and for those that
    end after it. A year with an unknown amount counts as fuller than every known one.
    """
    ordered = sorted(applied, key=lambda one: (one.day, one.words))
    days: list[date | None] = [day] if day is not None else [one.day for one in ordered] or [None]
    found = [
        YearSum(within, load_lb_per_acre, words)
        for load_day in days
        for within, words in _years(ordered, load_day, label_year)
    ]
    return max(found, key=lambda year: (len(year.unknown), year.before_lb_per_acre))


def _years(
    ordered: Sequence[Applied], load_day: date | None, label_year: str | None
) -> list[tuple[tuple[Applied, ...], str]]:
    if load_day is None:
        return [((), "a year with nothing on record")]
    found = []
    if label_year != CALENDAR:
        ends = [load_day] + [
            one.day for one in ordered if load_day < one.day and a_year_before(one.day) < load_day
        ]
        for end in dict.fromkeys(ends):
            start = a_year_before(end)
            within = tuple(one for one in ordered if start < one.day <= end)
            found.append((within, f"the 12 months to {day_words(end)}"))
    if label_year != ROLLING:
        within = tuple(one for one in ordered if one.day.year == load_day.year)
        found.append((within, f"the calendar year {load_day.year}"))
    return found


def a_year_before(day: date) -> date:
    """Return the same day a year earlier; 28 February for 29 February."""
    try:
        return day.replace(year=day.year - 1)
    except ValueError:
        return day.replace(year=day.year - 1, day=28)
