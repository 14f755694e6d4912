"""What an hourly forecast says of the hour of the work, where nobody on the spot said it."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from turfmap.days.conditions import Conditions
from turfmap.desk.check_asked import MOST_DRY_H
from turfmap.foundations.definitions import table
from turfmap.foundations.units import METRES_PER_SECOND_PER_MPH, MILLIMETRES_PER_INCH, fahrenheit
from turfmap.season.spray_hours import Hours, hours_of
from turfmap.store.weather_file import read_weather_file


def with_forecast(given: Conditions, forecast: Path | None) -> tuple[Conditions, list[str]]:
    """Return conditions with what is lacking taken from an hourly forecast, and what to say.

    Parameters
    ----------
    given
        What was given; it stands.
    forecast
        A weather file; a daily one says nothing of an hour.

    Raises
    ------
    InputFaultsError
        If the file needs mending.
    """
    if forecast is None or given.on is None:
        return given, []
    stations: dict[Any, list[dict[str, Any]]] = {}
    for row in read_weather_file(forecast).hours:
        stations.setdefault(row["station"], []).append(row)
    hours = hours_of(next(iter(stations.values()))) if len(stations) == 1 else None
    if hours is None:
        return given, [
            "The forecast holds no hours of one station: it says nothing of the hour of the work."
        ]
    place = int((given.on.replace(tzinfo=None) - hours.first) // timedelta(hours=1))
    if not 0 <= place < hours.hours:
        return given, ["The forecast does not reach the hour of the work."]
    found = {
        name: reader(hours, place)
        for name, reader in _READERS.items()
        if getattr(given, name) is None
    }
    known: dict[str, Any] = {name: value for name, value in found.items() if value is not None}
    known = _from_now(known, given.on)
    return replace(given, **known), [_said(known)] if known else []


def _said(names: Iterable[str]) -> str:
    words = ", ".join(_WORDS[name] for name in names)
    return f"Taken from the forecast and not measured on the spot: {words}."


def _mph(column: str) -> Callable[[Hours, int], float | None]:
    def read(hours: Hours, place: int) -> float | None:
        speed = float(getattr(hours, column)[place])
        return round(speed / METRES_PER_SECOND_PER_MPH, 2) if np.isfinite(speed) else None

    return read


def _air_f(hours: Hours, place: int) -> float | None:
    air_c = float(hours.air_c[place])
    return round(fahrenheit(air_c), 2) if np.isfinite(air_c) else None


def _dry_h(hours: Hours, place: int) -> float | None:
    """Return for how many hours no rain is forecast; what is not known ends them."""
    limits = {row["limit"]: float(row["value"]) for row in table("spray_weather").rows}
    ahead = hours.rain_mm[place:]
    is_dry = ahead < limits["rain_least"] * MILLIMETRES_PER_INCH
    if np.isnan(ahead[0]):
        return None
    return float(min(len(ahead) if is_dry.all() else is_dry.argmin(), MOST_DRY_H))


def _from_now(known: dict[str, Any], on: datetime) -> dict[str, Any]:
    """Take off the part of the first hour that is over when the work begins."""
    if "dry_h" not in known:
        return known
    gone_h = (on.minute + on.second / 60.0) / 60.0
    return known | {"dry_h": max(known["dry_h"] - gone_h, 0.0)}


_READERS: dict[str, Callable[[Hours, int], float | None]] = {
    "wind_mph": _mph("wind_m_per_s"),
    "gust_mph": _mph("gust_m_per_s"),
    "air_f": _air_f,
    "dry_h": _dry_h,
}
_WORDS = {"wind_mph": "wind", "gust_mph": "gusts", "air_f": "temperature", "dry_h": "dry hours"}
