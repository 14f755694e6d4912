"""Facts of a check in the words that a crew reads."""

from collections.abc import Mapping
from typing import Any

# What was given for the hour, in the order in which it is said.
_GIVEN = {
    "gust_mph": "gusts {:g} mph",
    "air_f": "air {:g} °F",
    "humidity_pct": "humidity {:g} %",
    "droplet": "{} droplets",
    "nozzle_height_in": "nozzles {:g} in above the grass",
    "dry_h": "no rain forecast for {:g} h",
    "inversion": "inversion: {}",
    "method": "applied with: {}",
}


def weather_words(given: Mapping[str, Any]) -> str:
    """Return what was given for the hour; "" if nothing was.

    Parameters
    ----------
    given
        The member ``given`` of a result of `turfmap.desk.check.check`.
    """
    wind_mph, from_words = given.get("wind_mph"), given.get("wind_from")
    parts = []
    if wind_mph is not None:
        parts.append(f"wind {wind_mph:g} mph" + (f" from {from_words}" if from_words else ""))
    parts += [
        words.format(value.replace("_", " ") if isinstance(value, str) else value)
        for name, words in _GIVEN.items()
        if (value := given.get(name)) is not None
    ]
    return "; ".join(parts)


def label_words(label: Mapping[str, Any]) -> dict[str, str]:
    """Return what the label says that a crew must know, by name; what is not entered is left out.

    Parameters
    ----------
    label
        The member ``label`` of a result of `turfmap.desk.check.check`.
    """
    found = {
        "registration_number": label.get("registration_number") or "",
        "wind": _range(label.get("wind_low_mph"), label.get("wind_high_mph"), "mph"),
        "air": _range(label.get("air_low_f"), label.get("air_high_f"), "°F"),
        "droplet": _droplet(label.get("droplet")),
        "reentry": _hours(label.get("reentry_h")),
        "rainfast": _hours(label.get("rainfast_h")),
    }
    return {name: words for name, words in found.items() if words}


def _range(low: float | None, high: float | None, unit: str) -> str:
    if low is None and high is None:
        return ""
    if low is None:
        return f"at most {high:g} {unit}"
    return f"{low:g} to {high:g} {unit}" if high is not None else f"at least {low:g} {unit}"


def _droplet(finest: str | None) -> str:
    return f"{finest.replace('_', ' ')} or coarser" if finest else ""


def _hours(hours: float | None) -> str:
    return "" if hours is None else f"{hours:g} h"
