"""How every task of every zone stands from week to week, packed for a map that shows one at a time.

Zones of which the same is known share one pattern, in which a state is one digit.
"""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from turfmap.season.board import NOTHING, Board, codes
from turfmap.season.chain import weather_notes
from turfmap.season.due import judged_for
from turfmap.season.reasons import LABEL_FIRST
from turfmap.season.situations import Columns, Rows
from turfmap.season.weather import Weather

DAYS_OF_WEEK = 7


def due_weeks(
    zones: Columns,
    *,
    as_of: date,
    weeks: tuple[int, int],
    answers: Rows,
    visits: Rows,
    weather: Weather | Sequence[Weather],
    **more: Any,
) -> dict[str, Any]:
    """Return the state of every task on each zone, one day a week.

    Parameters
    ----------
    zones, answers, visits, weather
        See `turfmap.season.due.due`.
    as_of
        The day asked about. What was not known on it does not count: later weeks are judged by
        what is known now.
    weeks
        How many weeks before and after it.
    **more
        See `turfmap.season.due.judged_for`.

    Returns
    -------
    dict
        ``as_of``; ``days``, one a week; ``now``, the place of `as_of` among them; ``states``, whose
        places are the digits; ``tasks`` with their codes; ``patterns``; ``zones``, each with the
        place of its pattern; ``cautions``. A pattern has ``first``, the place of the task that
        comes first on each day (-1 for none), ``state``, that task's digits, and ``tasks``, the
        digits of each task of the ground by its place.
    """
    before, after = weeks
    days = [as_of + timedelta(days=DAYS_OF_WEEK * week) for week in range(-before, after + 1)]
    board = judged_for(
        zones,
        days,
        answers=[row for row in answers if (row.get("answered_on") or date.min) <= as_of],
        visits=[row for row in visits if row["date"] <= as_of],
        weather=weather,
        **more,
    )
    places: dict[str, int] = {}
    patterns: list[dict[str, Any]] = []
    of_situation = []
    for number in range(len(board.situations)):
        pattern = _pattern(board, number)
        place = places.setdefault(repr(pattern), len(patterns))
        if place == len(patterns):
            patterns.append(pattern)
        of_situation.append(place)
    return {
        "as_of": as_of.isoformat(),
        "days": [day.isoformat() for day in days],
        "now": before,
        "states": list(board.rules.state_names),
        "tasks": [{name: row[name] for name in ("task", "title", "code")} for row in board.tasks],
        "patterns": patterns,
        "zones": [
            {"property": of, "zone": name, "pattern": of_situation[which]}
            for of, name, which in zip(zones["property"], zones["name"], board.which, strict=True)
        ],
        "cautions": [LABEL_FIRST, *weather_notes([k.weather for k in board.known], as_of)],
    }


def _pattern(board: Board, situation: int) -> dict[str, Any]:
    nothing = board.rules.state_code["none"]
    mine = {
        place: codes(each)
        for place, each in enumerate(board.judged[situation])
        if each is not None and each.concerns.any()
    }
    first = board.first(situation).tolist()
    state = [nothing if task == NOTHING else int(mine[task][day]) for day, task in enumerate(first)]
    return {
        "first": first,
        "state": "".join(map(str, state)),
        "tasks": {
            str(place): "".join(str(nothing if code == NOTHING else code) for code in found)
            for place, found in mine.items()
        },
    }
