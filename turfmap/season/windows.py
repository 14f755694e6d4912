"""The window of a task that counts for a zone on a day: open, next, or lately closed."""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from turfmap.foundations.definitions import Row
from turfmap.season.case import NOT_ASKED, Case, Visits
from turfmap.season.edges import Edge, Evidence, edge
from turfmap.season.rules import listed
from turfmap.season.weather import Weather

SOON_D = 30
MISSED_D = 30


@dataclass(frozen=True)
class Window:
    """One opening of a window.

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

    def is_open(self, day: date) -> bool:
        """Whether the window is open on a day."""
        return self.opens <= day <= self.closes


@dataclass(frozen=True, eq=False)
class WindowRows:
    """The rows of the window table that make one window, apart by edge.

    Attributes
    ----------
    follows
        The tasks whose visits move it.
    """

    task: str
    name: str
    opens: tuple[Row, ...]
    closes: tuple[Row, ...]
    follows: tuple[str, ...]


class Almanac:
    """The windows of every task under one weather; each opening is worked out once."""

    def __init__(self, rows: Iterable[Row], weather: Weather) -> None:
        self._weather = weather
        self._openings: dict[Hashable, Window] = {}
        self._windows = grouped(rows)

    def windows(self, task: str) -> list[WindowRows]:
        """Return the windows of a task."""
        return self._windows.get(task, [])

    def opening(self, rows: WindowRows, year: int, visits: Visits) -> Window:
        """Return the opening of a window whose first calendar day lies in a year."""
        seen = tuple(visits.get(task, ()) for task in rows.follows)
        key = (rows.task, rows.name, year, seen)
        if key not in self._openings:
            self._openings[key] = opening(rows, Evidence(self._weather, visits), year)
        return self._openings[key]


def grouped(rows: Iterable[Row]) -> dict[str, list[WindowRows]]:
    """Return the windows of each task."""
    found: dict[tuple[str, str], list[Row]] = {}
    for row in rows:
        found.setdefault((row["task"], row["window"]), []).append(row)
    windows: dict[str, list[WindowRows]] = {}
    for (task, name), mine in found.items():
        opens = tuple(row for row in mine if row["edge"] == "opens")
        closes = tuple(row for row in mine if row["edge"] == "closes")
        follows = tuple(sorted({row["after_task"] for row in mine if row["after_task"]}))
        windows.setdefault(task, []).append(WindowRows(task, name, opens, closes, follows))
    return windows


def matching(windows: Sequence[WindowRows], case: Case) -> list[WindowRows]:
    """Return the windows that hold for a zone: by latitude, grass, bed and answers.

    What is not known of the zone matches everything: the holds ask for it.
    """
    return [window for window in windows if _matches(window.opens[0], case)]


def _matches(row: Row, case: Case) -> bool:
    ground = case.ground
    if not row["latitude_from"] <= ground.latitude < row["latitude_to"]:
        return False
    season = case.turf_season
    if row["turf_season"] and season and row["turf_season"] != season:
        return False
    if row["species"] and season and row["species"] != ground.species:
        return False
    if row["bed_types"] and ground.bed_type and ground.bed_type not in listed(row["bed_types"]):
        return False
    answer = case.answered(row["question"]) if row["question"] else row["answer"]
    return answer in {row["answer"], NOT_ASKED}


def openings(task: str, case: Case, almanac: Almanac) -> list[Window]:
    """Return the openings of a task around today that hold for a zone, by date.

    Empty if no window is known for the place.
    """
    found = [
        almanac.opening(rows, year, case.visits)
        for rows in matching(almanac.windows(task), case)
        for year in range(case.as_of.year - 1, case.as_of.year + 2)
    ]
    # A window that follows a late visit may have closed before it could open.
    found = [window for window in found if window.opens <= window.closes]
    return sorted(found, key=lambda window: (window.opens, window.closes, window.name))


def counting(found: Sequence[Window], day: date) -> Window | None:
    """Return the one opening that counts on a day.

    An open one; else the next if it is soon; else one closed in the last 30 days; else the next.
    """
    candidates = (
        [w for w in found if w.is_open(day)],
        [w for w in found if day < w.opens <= day + timedelta(days=SOON_D)],
        [w for w in reversed(found) if lately_closed(w, day)],
        [w for w in found if w.opens > day],
    )
    return next((windows[0] for windows in candidates if windows), None)


def lately_closed(window: Window, day: date) -> bool:
    """Whether a window closed within the last 30 days."""
    return window.closes < day <= window.closes + timedelta(days=MISSED_D)


def opening(rows: WindowRows, evidence: Evidence, year: int) -> Window:
    """Return the opening of a window whose first calendar day lies in `year`.

    It opens when every opening edge has come and closes at the first closing one.
    """
    starts = [edge(row, evidence, year) for row in rows.opens]
    first_on = min(row["on"] for row in rows.opens)
    ends = [edge(row, evidence, year + (row["on"] < first_on)) for row in rows.closes]
    last_start = max(starts, key=lambda found: found.day)
    first_end = min(ends, key=lambda found: found.day)
    return Window(rows.name, last_start.day, first_end.day, last_start, first_end, (*starts, *ends))
