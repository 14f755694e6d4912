"""May I treat where I stand? The zone's answer, made stricter by the position."""

from pathlib import Path
from typing import Any

from turfmap.desk.check import CheckAsked, check, wind_of
from turfmap.desk.here import Position, here
from turfmap.desk.protected import Overrides
from turfmap.ground.here import OUTSIDE, STOP

# What a position makes of a zone's answer, and what would change it.
STRICTER = {STOP: "no", "unsure": "wait"}
CHANGES = "Stand farther from the no-spray edge, or know the position better."
RANK = ("go", "wait", "no")


def check_here(
    path: Path, asked: CheckAsked, position: Position, *, overrides: Overrides
) -> dict[str, Any]:
    """Judge the zone in which somebody stands.

    Returns
    -------
    dict
        As of `turfmap.desk.check.check`, with that zone alone, or no zone where none is there; and
        ``positions``, as of `turfmap.desk.here.here`.

    Raises
    ------
    InputFaultsError
        If something is not there, or a file needs mending.
    """
    found = here(
        path,
        [position],
        product=asked.product,
        overrides=overrides,
        property_name=asked.property_name,
        wind=wind_of(asked.conditions),
    )
    (spot,) = found["positions"]
    if spot["property"] is None or asked.conditions.on is None:
        return {"zones": []} | found
    wanted = CheckAsked(
        spot["property"],
        asked.product,
        asked.conditions,
        None if spot["zones_too"] else spot["zone"],
        asked.weather_file,
        asked.forecast_file,
    )
    judged = check(path, wanted, overrides=overrides)
    names = {spot["zone"], *spot["zones_too"]}
    mine = [_stricter(zone, spot) for zone in judged["zones"] if zone["zone"] in names]
    return judged | {
        "zones": [_over_each_other(mine)] if len(mine) > 1 else mine,
        "positions": found["positions"],
        "cautions": list(dict.fromkeys([*judged["cautions"], *found["cautions"]])),
    }


def _over_each_other(zones: list[dict[str, Any]]) -> dict[str, Any]:
    """Return the strictest of zones of one rank that are drawn over the same ground."""
    strictest = max(zones, key=lambda zone: RANK.index(zone["answer"]))
    names = ", ".join(zone["zone"] for zone in zones)
    said = f"Zones are drawn over each other here ({names}): the strictest counts; draw them again."
    return strictest | {"mind": [said, *strictest["mind"]]}


def _stricter(zone: dict[str, Any], spot: dict[str, Any]) -> dict[str, Any]:
    if spot["state"] == OUTSIDE:
        return zone
    answer = max(zone["answer"], STRICTER[spot["state"]], key=RANK.index)
    against = [] if zone["answer"] == "go" else zone["reasons"]
    return zone | {
        "answer": answer,
        "answer_words": answer.upper(),
        "reasons": [_reason(spot), *against],
        "would_change": [CHANGES, *zone["would_change"]],
    }


def _reason(spot: dict[str, Any]) -> str:
    parts = [spot["words"], spot["distance_words"], spot["reason"]]
    return "Here: " + "; ".join(part for part in parts if part) + "."
