"""Zones, answers and weather to test with; all invented, the climate from memory."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np

from turfmap.season.due import due, judged_for
from turfmap.season.weather import Site, Weather, weather_until

Task = dict[str, Any]
LATITUDE, LONGITUDE = 33.5, -83.0
SITE = Site(LATITUDE, LONGITUDE, 150.0)
PLACE = {"latitude": LATITUDE, "longitude": LONGITUDE}
EMPTY: dict[str, Any] = {"species": None, "bed_type": None, "irrigated": None}


def zone(kind: str = "turf", **facts: Any) -> dict[str, Any]:
    return {"property": "Estate", "name": "Zone", "kind": kind} | PLACE | EMPTY | facts


def bermuda(**facts: Any) -> dict[str, Any]:
    return zone(species="bermuda", irrigated=True) | facts


def columns(zones: Iterable[Mapping[str, Any]]) -> dict[str, list[Any]]:
    rows = list(zones)
    return {name: [row[name] for row in rows] for name in rows[0]}


def answer(said: str, question: str = "overseeding", **facts: Any) -> dict[str, Any]:
    row = {"property": "Estate", "zone": None, "question": question, "answer": said}
    return row | {"date": None, "answered_on": None} | facts


def visit(
    task: str, day: date, product: str | None = None, rate_lb_per_acre: float | None = None
) -> dict[str, Any]:
    """Return a visit; a product named here is its own active ingredient."""
    rates = {} if rate_lb_per_acre is None else {product: rate_lb_per_acre}
    row = {"property": "Estate", "zone": None, "task": task, "date": day}
    return row | {"product": product, "rates_lb_per_acre": rates}


def judged(
    ground: Mapping[str, Any],
    as_of: date,
    *,
    answers: Iterable[Mapping[str, Any]] = (),
    visits: Iterable[Mapping[str, Any]] = (),
    weather: Iterable[Mapping[str, Any]] = (),
    **more: Any,
) -> dict[str, Task]:
    """Return the tasks of one zone by name, in their order."""
    found = due(
        columns([ground]),
        answers=list(answers),
        visits=list(visits),
        weather=weather_until(weather, as_of=as_of, site=SITE),
        as_of=as_of,
        **more,
    )
    return {task["task"]: task for task in found["zones"][0]["tasks"]}


def states(
    ground: Mapping[str, Any],
    days: Sequence[date],
    *,
    answers: Iterable[Mapping[str, Any]] = (),
    visits: Iterable[Mapping[str, Any]] = (),
    weather: Iterable[Mapping[str, Any]] = (),
    **more: Any,
) -> dict[str, list[str]]:
    """Return the state of every task on each day; empty where it is not for the ground."""
    board = judged_for(
        columns([ground]),
        days,
        answers=list(answers),
        visits=list(visits),
        weather=weather_until(weather, as_of=max(days)),
        **more,
    )
    names = (*board.rules.state_names, "")
    return {
        row["task"]: [names[code] for code in board.states(row["task"])[0]] for row in board.tasks
    }


def warm_climate(first: date, last: date, *, rain_mm: float | None = 3.0) -> list[dict[str, Any]]:
    """Return smooth days of the inland Southeast: lows 33 to 71 F, highs 58 to 92 F (memory)."""
    rows = []
    for number in range((last - first).days + 1):
        day = first + timedelta(days=number)
        season = np.cos(2 * np.pi * (day.timetuple().tm_yday - 200) / 365)
        low_f, high_f = 52 + 19 * season, 75 + 17 * season
        rows.append(
            {
                "date": day,
                "air_min_c": (low_f - 32) / 1.8,
                "air_max_c": (high_f - 32) / 1.8,
                "rain_mm": rain_mm,
            }
        )
    return rows


def warmer(weather: Weather, by_c: np.ndarray) -> Weather:
    """Return the same days, each warmer by its own amount [degC]."""
    return replace(weather, air_min_c=weather.air_min_c + by_c, air_max_c=weather.air_max_c + by_c)
