"""The window of a task that counts for a zone on each day: open, next, or lately closed."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np
import numpy.typing as npt

from turfmap.foundations.definitions import Row
from turfmap.season.answered import NOT_ASKED
from turfmap.season.case import Case
from turfmap.season.edges import Edge, Edges, Evidence, edges
from turfmap.season.known_weather import Days, Flags, KnownWeather
from turfmap.season.rules import Rules, listed
from turfmap.season.visits import Visits
from turfmap.season.window_rows import WindowRows

SOON_D = 30
MISSED_D = 30
NONE = -1
_LAST = np.iinfo(np.int64).max


@dataclass(frozen=True)
class Window:
    """One opening of a window, as known on one day.

    Attributes
    ----------
    opens, closes
        First and last day.
    opening, closing
        The edges that decided them.
    edges
        All edges looked at.
    """

    name: str
    opens: date
    closes: date
    opening: Edge
    closing: Edge
    edges: tuple[Edge, ...]


@dataclass(frozen=True, eq=False)
class Opening:
    """The opening of a window in one year, as known on each day; shape (days,).

    Attributes
    ----------
    opens, closes
        First and last day.
    starts, ends
        The edges of either side; it opens when every opening edge has come and closes at the
        first closing one.
    """

    rows: WindowRows
    year: int
    opens: Days
    closes: Days
    starts: tuple[Edges, ...]
    ends: tuple[Edges, ...]

    def at(self, place: int) -> Window:
        """Return the opening as known on one of the days."""
        starts = [found.at(place) for found in self.starts]
        ends = [found.at(place) for found in self.ends]
        last_start = max(starts, key=lambda edge: edge.day)
        first_end = min(ends, key=lambda edge: edge.day)
        return Window(
            self.rows.name,
            last_start.day,
            first_end.day,
            last_start,
            first_end,
            (*starts, *ends),
        )


class Almanac:
    """The windows of every task under one weather; each opening is worked out once."""

    def __init__(self, rules: Rules, known: KnownWeather) -> None:
        self._rules = rules
        self._known = known
        years = [date.fromordinal(int(day)).year for day in (known.days.min(), known.days.max())]
        self._years = range(years[0] - 1, years[1] + 2)

    def openings(self, rows: WindowRows, visits: Visits) -> list[Opening]:
        """Return the openings of a window in every year around the days asked about."""
        done = {task: tuple(v.day for v in visits.get(task, ())) for task in rows.follows}
        key = ("openings", rows.task, rows.name, tuple(sorted(done.items())))
        return self._known.once(
            key, lambda: [opening(rows, Evidence(self._known, done), y) for y in self._years]
        )

    def counting(self, task: str, case: Case) -> "Counting":
        """Return the openings of a task that hold for a zone, and which counts on each day."""
        needs, ground = self._rules.needs[task], case.ground
        key = (
            *("counting", task, ground.latitude, ground.longitude, ground.species),
            ground.bed_type,
            *(id(case.visits.get(name, ())) for name in needs.moved_by),
            *(id(case.told.get(name, ())) for name in needs.chosen_by),
        )
        return self._known.once(key, lambda: self._counting(task, case))

    def _counting(self, task: str, case: Case) -> "Counting":
        matched = [
            rows for rows in self._rules.windows.get(task, []) if _matches(rows.opens[0], case)
        ]
        return _counting(
            [each for rows in matched for each in self.openings(rows, case.visits)], case
        )


@dataclass(frozen=True, eq=False)
class Counting:
    """Which opening counts on each day; places in `openings`, -1 for none, shape (days,).

    Attributes
    ----------
    chosen
        An open one; else the next if it is soon; else one lately closed; else the next.
    following
        The next to open.
    """

    days: Days
    openings: Sequence[Opening]
    chosen: npt.NDArray[np.int64]
    following: npt.NDArray[np.int64]

    @cached_property
    def first_day(self) -> Days:
        """The first day of the opening that counts; 0 for none."""
        return self.opens(self.chosen)

    @cached_property
    def last_day(self) -> Days:
        """The last day of the opening that counts; 0 for none."""
        return self.closes(self.chosen)

    @cached_property
    def is_open(self) -> Flags:
        """Whether the opening that counts is open."""
        is_open: Flags = (self.first_day <= self.days) & (self.days <= self.last_day)
        return is_open

    def opens(self, chosen: npt.NDArray[np.int64]) -> Days:
        """Return the first day of the openings at these places; 0 for none."""
        return self._picked([each.opens for each in self.openings], chosen)

    def closes(self, chosen: npt.NDArray[np.int64]) -> Days:
        """Return the last day of the openings at these places; 0 for none."""
        return self._picked([each.closes for each in self.openings], chosen)

    def _picked(self, columns: Sequence[Days], chosen: npt.NDArray[np.int64]) -> Days:
        none = np.zeros(len(chosen), dtype=np.int64)
        table = np.stack([*columns, none])  # place -1 is the row of zeros
        found: Days = table[chosen, np.arange(len(chosen))]
        return found


def _matches(row: Row, case: Case) -> bool:
    """Whether a window holds for a zone by place, grass and bed.

    What is not known of grass and bed matches everything: the holds ask for it.
    """
    ground = case.ground
    if not row["latitude_from"] <= ground.latitude < row["latitude_to"]:
        return False
    west, east = row["longitude_from"], row["longitude_to"]
    if (west is not None and ground.longitude < west) or (
        east is not None and ground.longitude >= east
    ):
        return False
    season = case.turf_season
    if row["turf_season"] and season and row["turf_season"] != season:
        return False
    if row["species"] and season and row["species"] != ground.species:
        return False
    beds = listed(row["bed_types"])
    return not beds or not ground.bed_type or ground.bed_type in beds


def _allowed(rows: WindowRows, case: Case) -> Flags | bool:
    """Return the days on which the answer that a window asks for stands, or none is known."""
    row = rows.opens[0]
    if not row["question"]:
        return True
    answered = case.answered(row["question"])
    return answered.is_(row["answer"]) | answered.is_(NOT_ASKED)


def _counting(found: Sequence[Opening], case: Case) -> Counting:
    day, nothing = case.days, np.full(len(case.days), NONE, dtype=np.int64)
    if not found:
        return Counting(day, (), nothing, nothing)
    opens = np.stack([each.opens for each in found])
    closes = np.stack([each.closes for each in found])
    near = np.abs(np.array([each.year for each in found])[:, None] - case.horizon.years) <= 1
    allowed = np.array([_allowed(each.rows, case) for each in found], dtype=object)
    # A window that follows a late visit may have closed before it could open.
    holds = near & (opens <= closes) & np.stack([np.broadcast_to(a, len(day)) for a in allowed])
    order = _order(found, opens, closes)
    later = holds & (opens > day)
    candidates = (
        _first(order, holds & (opens <= day) & (day <= closes)),
        _first(order, later & (opens <= day + SOON_D)),
        _first(-order, holds & lately_closed(closes, day)),
        _first(order, later),
    )
    chosen = nothing
    for candidate in candidates:
        chosen = np.where(chosen == NONE, candidate, chosen)
    return Counting(day, tuple(found), chosen, candidates[-1])


def _order(found: Sequence[Opening], opens: Days, closes: Days) -> npt.NDArray[np.int64]:
    """Return a number for each opening and day that sorts them by first day, last day and name."""
    names = sorted({each.rows.name for each in found})
    rank = np.array([names.index(each.rows.name) for each in found], dtype=np.int64)[:, None]
    return (opens * 2**24 + closes) * 2**10 + rank


def _first(order: npt.NDArray[np.int64], where: Flags) -> npt.NDArray[np.int64]:
    """Return the place of the lowest in order among those allowed, on each day; -1 for none."""
    return np.where(where.any(axis=0), np.where(where, order, _LAST).argmin(axis=0), NONE)


def lately_closed(closes: Days, day: Days) -> Flags:
    """Return whether windows closed within the last 30 days."""
    lately: Flags = (closes < day) & (day <= closes + MISSED_D)
    return lately


def opening(rows: WindowRows, evidence: Evidence, year: int) -> Opening:
    """Return the opening of a window whose first calendar day lies in `year`."""
    starts = tuple(edges(row, evidence, year) for row in rows.opens)
    first_on = min(row["on"] for row in rows.opens)
    ends = tuple(edges(row, evidence, year + (row["on"] < first_on)) for row in rows.closes)
    opens = np.max([found.day for found in starts], axis=0)
    closes = np.min([found.day for found in ends], axis=0)
    return Opening(rows, year, opens, closes, starts, ends)
