"""What is given for a check, read from text: wind, drops, temperature, rain, times."""

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

from turfmap.days.conditions import METHODS, Conditions
from turfmap.foundations.dates import FIRST_YEAR, LAST_YEAR
from turfmap.foundations.definitions import map_layer, table
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.foundations.units import METRES_PER_INCH, fahrenheit, metres, number, quantity

# Sixteen points of the compass, as visits write them.
POINTS: tuple[str, ...] = map_layer("visit").columns["wind_from"].one_of
POINT_DEG = 360.0 / len(POINTS)
INVERSIONS = ("none", "suspected")
MOST_WIND_MPH, MOST_DRY_H = 150.0, 400.0
# A bearing is told by points, and no wind keeps nearer to it than the width of one.
LEAST_ARC_DEG = POINT_DEG
HIGHEST_NOZZLE_IN = 240.0

_NUMBER = r"([0-9][0-9,]*\.?[0-9]*|\.[0-9]+)"
_SPEED = rf"\s*{_NUMBER}\s*(mph|kmh|km/h|m/s|kn|knots?)"
_WIND = re.compile(rf"{_SPEED}(?:\s+([A-Za-z]{{1,8}}|[0-9.]+\s*(?:deg|°)?))?\s*", re.IGNORECASE)
_GUST = re.compile(rf"{_SPEED}\s*", re.IGNORECASE)
_AIR = re.compile(r"\s*([-+]?[0-9.,]+)\s*(?:°|deg)?\s*([FC])\s*", re.IGNORECASE)
_DRY_UNTIL = re.compile(r"\s*(?:none|dry)\s+(?:until|till)\s+(\S+)\s*", re.IGNORECASE)
_SPEED_UNITS = {"km/h": "kmh", "m/s": "mps", "kn": "knot"}
VARIABLE = ("variable", "var", "vrb")


def read_conditions(given: Mapping[str, str | None]) -> Conditions:
    """Read what is given for a check.

    Parameters
    ----------
    given
        Texts by name: ``on, wind, gust, droplet, air, rain, dry_hours, nozzle_height, inversion,
        method, arc, school_notice``; None or missing where nothing is given.

    Raises
    ------
    InputFaultsError
        With everything that is not understood.
    """
    found: dict[str, Any] = {}
    faults: list[Fault] = []
    for name, reader in _READERS.items():
        text = given.get(name)
        if text is None:
            continue
        try:
            found |= reader(text)
        except InputFaultsError as error:
            record = f"--{name.replace('_', '-')}"
            faults += [replace(fault, record=record) for fault in error.faults]
    faults += _contradictions(found)
    conditions = Conditions(**{name: value for name, value in found.items() if name != "until"})
    if "until" in found and not faults:
        try:
            return replace(conditions, dry_h=_hours_until(conditions.on, found["until"]))
        except InputFaultsError as error:
            faults += error.faults
    if faults:
        raise InputFaultsError(faults)
    return conditions


def _contradictions(found: Mapping[str, Any]) -> list[Fault]:
    """Return what cannot be true together."""
    wind_mph, gust_mph = found.get("wind_mph"), found.get("gust_mph")
    if wind_mph is None or gust_mph is None or gust_mph >= wind_mph:
        return []
    problem = f"gusts of {gust_mph:g} mph are less than the wind of {wind_mph:g} mph"
    return [Fault("", "--gust", problem, "look at both figures")]


def _hours_until(on: datetime | None, until: datetime) -> float:
    if on is None:
        raise input_fault("it tells until when, and not from when", "give --on", record="--rain")
    if (on.tzinfo is None) != (until.tzinfo is None):
        raise input_fault(
            "one time tells its offset from UTC and the other does not",
            "write both in the same way",
            record="--rain",
        )
    hours = (until - on).total_seconds() / 3600.0
    if not 0.0 <= hours <= MOST_DRY_H:
        raise input_fault("that is before --on, or too far ahead", "look at both", record="--rain")
    return hours


def _time(text: str) -> datetime:
    try:
        found = datetime.fromisoformat(text.strip())
    except ValueError:
        found = None
    if found is None or "T" not in text.upper().strip().replace(" ", "T", 1):
        raise input_fault(f"{text[:60]!r} is not a day with a time", "write it as 2026-10-03T08:00")
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise input_fault(f"{found.year} is not a year of work", "look at the year")
    return found


def _speed_mph(value: str, unit: str) -> float:
    plain = _SPEED_UNITS.get(unit.lower(), unit.lower())
    speed = quantity(f"{value} {plain}", "mile / hour", record="", example="6 mph")
    if speed > MOST_WIND_MPH:
        raise input_fault(f"{speed:.0f} mph is no wind to work in", "look at the figure")
    return round(speed, 6)


def _wind(text: str) -> dict[str, float | None]:
    if text.strip().lower() == "calm":
        return {"wind_mph": 0.0, "wind_from_deg": None}
    found = _WIND.fullmatch(text)
    if found is None:
        raise input_fault(
            f"the wind {text[:60]!r} is not understood",
            'write it like "6 mph NW", "4 mph variable", or calm',
        )
    return {"wind_mph": _speed_mph(found[1], found[2]), "wind_from_deg": _bearing(found[3])}


def _bearing(text: str | None) -> float | None:
    if text is None or text.lower() in VARIABLE:
        return None
    if text.upper() in POINTS:
        return POINTS.index(text.upper()) * POINT_DEG
    digits = re.sub(r"\s*(deg|°)$", "", text)
    if not digits[0].isdigit() or number(digits, record="--wind") > 360.0:
        raise input_fault(
            f"{text!r} is no point of the compass", f"choose one of {', '.join(POINTS)}"
        )
    return number(digits, record="--wind") % 360.0


def _gust(text: str) -> dict[str, float]:
    found = _GUST.fullmatch(text)
    if found is None:
        raise input_fault(f"the gusts {text[:60]!r} are not understood", 'write them like "9 mph"')
    return {"gust_mph": _speed_mph(found[1], found[2])}


def _air(text: str) -> dict[str, float]:
    found = _AIR.fullmatch(text)
    if found is None:
        raise input_fault(
            f"the temperature {text[:60]!r} is not understood", 'write it like "71F" or "22C"'
        )
    degrees = number(found[1], record="--air")
    air_f = degrees if found[2].upper() == "F" else fahrenheit(degrees)
    if not -80.0 <= air_f <= 140.0:
        raise input_fault(f"{text!r} is no air to work in", "look at the figure and its unit")
    return {"air_f": round(air_f, 6)}


def _rain(text: str) -> dict[str, Any]:
    found = _DRY_UNTIL.fullmatch(text)
    if found is not None:
        return {"until": _time(found[1])}
    if text.strip().lower() in {"now", "raining"}:
        return {"dry_h": 0.0}
    raise input_fault(
        f"the rain {text[:60]!r} is not understood",
        'write it like "none until 2026-10-03T14:00", or now',
    )


def _dry_hours(text: str) -> dict[str, float]:
    hours = number(text.strip().removesuffix("h"), record="--dry-hours")
    if not 0.0 <= hours <= MOST_DRY_H:
        raise input_fault(f"{text!r} is no number of hours ahead", "give 0 to 400")
    return {"dry_h": hours}


def _height(text: str) -> dict[str, float]:
    height_in = metres(text, record="--nozzle-height") / METRES_PER_INCH
    if not 0.0 < height_in <= HIGHEST_NOZZLE_IN:
        raise input_fault(f"{text!r} is no height of nozzles", "give it above the grass, as 20in")
    return {"nozzle_height_in": height_in}


def _arc(text: str) -> dict[str, float]:
    width = number(text.strip().removesuffix("deg").strip(), record="--arc")
    if not LEAST_ARC_DEG <= width <= 360.0:
        mend = f"give {LEAST_ARC_DEG:g} to 360 degrees: no wind keeps nearer to its bearing"
        raise input_fault(f"{text!r} is no arc of a wind", mend)
    return {"arc_deg": width}


def _droplet(text: str) -> dict[str, str]:
    name = text.strip().lower().replace(" ", "_").replace("-", "_")
    known = [row["droplet"] for row in table("droplet").rows]
    if name not in known:
        raise input_fault(
            f"there is no droplet class {text[:60]!r}", f"choose one of {', '.join(known)}"
        )
    return {"droplet": name}


def _one_of(text: str, allowed: tuple[str, ...]) -> str:
    if text not in allowed:
        raise input_fault(f"{text[:60]!r} is not known", f"choose one of {', '.join(allowed)}")
    return text


_READERS: Mapping[str, Callable[[str], dict[str, Any]]] = {
    "on": lambda text: {"on": _time(text)},
    "wind": _wind,
    "gust": _gust,
    "droplet": _droplet,
    "air": _air,
    "rain": _rain,
    "dry_hours": _dry_hours,
    "nozzle_height": _height,
    "inversion": lambda text: {"inversion": _one_of(text, INVERSIONS)},
    "method": lambda text: {"method": _one_of(text, METHODS)},
    "arc": _arc,
    "school_notice": lambda text: {"school_notice_on": _time(text)},
}
