"""One task on one zone on one day: its state, its window, and what holds it."""

from dataclasses import dataclass
from datetime import date, timedelta

from turfmap.foundations.definitions import Row
from turfmap.season.case import Case
from turfmap.season.holds import ASK, Finding, findings
from turfmap.season.rules import listed
from turfmap.season.windows import SOON_D, Almanac, Window, counting, lately_closed, openings

EARLY_D = 10  # a visit so long before a window opens was meant for it
LATE_D = 30


@dataclass(frozen=True, eq=False)
class Judgement:
    """How a task stands.

    Attributes
    ----------
    state
        A row's id of the table state.
    window
        The opening that counts; None where no window is known for the place.
    findings
        Every hold in force, whether or not the window is open.
    done_on
        The visit recorded for the window.
    """

    task: Row
    state: str
    window: Window | None
    findings: tuple[Finding, ...]
    done_on: date | None


def judged(task: Row, case: Case, almanac: Almanac) -> Judgement | None:
    """Return how a task stands on a zone; None if it is not for that ground.

    Parameters
    ----------
    task
        A row of the table task.
    case
        What is known of the zone.
    almanac
        The windows of every task under the zone's weather.
    """
    if not _is_for(task, case):
        return None
    name = task["task"]
    around = openings(name, case, almanac)
    window = counting(around, case.as_of)
    is_open = window is not None and window.is_open(case.as_of)
    found = findings(name, case, is_open=is_open)
    done_on = _done(name, window, case)
    if window is None:
        return Judgement(task, "ask", None, tuple(found), None)
    state = _state(window, found, done_on, case.as_of)
    if state == "missed" and any(finding.effect != ASK for finding in found):
        # What was held was not missed: the next window counts.
        window = next(later for later in around if later.opens > case.as_of)
        state = _state(window, found, None, case.as_of)
    return Judgement(task, state, window, tuple(found), done_on)


def _is_for(task: Row, case: Case) -> bool:
    ground, season = case.ground, case.turf_season
    if ground.kind not in listed(task["ground"]):
        return False
    if season and task["turf_season"] not in {None, season}:
        return False
    if season and task["species"] and ground.species not in listed(task["species"]):
        return False
    if ground.bed_type and task["bed_types"] and ground.bed_type not in listed(task["bed_types"]):
        return False
    if task["needs_irrigation"] and ground.irrigated is False:
        return False
    question = task["only_question"]
    return question is None or case.answered(question) == task["only_answer"]


def _done(task: str, window: Window | None, case: Case) -> date | None:
    if window is None:
        return None
    first = window.opens - timedelta(days=EARLY_D)
    last = window.closes + timedelta(days=LATE_D)
    return next((day for day in case.visits.get(task, ()) if first <= day <= last), None)


def _state(window: Window, found: list[Finding], done_on: date | None, day: date) -> str:
    if done_on is not None:
        return "done"
    if window.is_open(day):
        effects = {finding.effect for finding in found}
        return "due" if not effects else "held" if effects != {ASK} else ASK
    if lately_closed(window, day):
        return "missed"
    return "soon" if window.opens <= day + timedelta(days=SOON_D) else "later"
