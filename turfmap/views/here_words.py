"""Where somebody stands, in words: stop, unsure or outside, how far, which way, because of what."""

from collections.abc import Mapping, Sequence
from math import ceil, floor, isfinite
from typing import Any

from turfmap.foundations.definitions import table
from turfmap.foundations.units import METRES_PER_FOOT, distance_words
from turfmap.ground.here import COARSE_M, OUTSIDE, STOP, UNSURE, Standing

WORDS = {
    STOP: "STOP: inside no-spray",
    UNSURE: "UNSURE: edge within position error",
    OUTSIDE: "Outside no-spray",
}
NOT_SURVEYED = "UNSURE: not surveyed, what is near is unknown"
NOWHERE = "UNSURE: no property of this place is here, so nothing is known"
FAR = "UNSURE: too far from this property, what is near is unknown"
OFF = "UNSURE: outside this property, what is near is unknown"
NOT_KNOWN = "UNSURE: nobody said how well the position is known"
DIRECTIONS = (
    "north",
    "north-east",
    "east",
    "south-east",
    "south",
    "south-west",
    "west",
    "north-west",
)

# Nothing is known: no number, no zone, no way.
NOTHING: dict[str, Any] = {
    "state": UNSURE,
    "words": NOWHERE,
    "distance_ft": None,
    "distance_m": None,
    "distance_words": "",
    "is_inside": None,
    "direction": None,
    "category": None,
    "name": None,
    "setback_m": None,
    "margin_m": None,
    "reason": "",
    "zone": None,
    "zones_too": [],
    "property": None,
}


def told(
    found: Standing,
    at: int,
    *,
    accuracy_m: float | None,
    features: Sequence[Mapping[str, Any]],
    is_surveyed: bool,
    is_far: bool,
    is_off: bool = False,
) -> dict[str, Any]:
    """Return one position's answer in words; see `turfmap.desk.here.here` for its keys.

    Parameters
    ----------
    found, at
        How positions stand, and which of them is meant.
    accuracy_m
        How well it is known [m]; None where nobody knows.
    features
        ``category, name, distance_m, margin_m, is_downwind`` of each protected feature.
    is_surveyed
        Whether somebody has looked for what is protected here.
    is_far
        Whether it lies farther off than the surroundings are known.
    is_off
        Whether it lies outside the property and its zones, where nobody has looked.
    """
    if accuracy_m is not None and accuracy_m > COARSE_M:
        return NOTHING | {"words": f"UNSURE: position known to {ceil(accuracy_m):,} m only"}
    if is_far:
        return NOTHING | {"words": FAR}
    state = str(found.state[at])
    words = WORDS[state]
    if state == UNSURE and not is_surveyed:
        words = NOT_SURVEYED
    if state == OUTSIDE and is_off:
        state, words = UNSURE, OFF
    if state == UNSURE and accuracy_m is None:
        words = NOT_KNOWN
    answer = {"state": state, "words": words, "is_inside": bool(found.is_inside[at])}
    return NOTHING | answer | _distance(found, at) | _cause(found, at, features)


def _distance(found: Standing, at: int) -> dict[str, Any]:
    """Return the distance rounded towards the edge, and which way the edge lies."""
    distance_m = float(found.distance_m[at])
    if not isfinite(distance_m):
        return {"distance_words": "no no-spray ground is drawn near here"}
    is_inside = bool(found.is_inside[at])
    rounded = ceil if is_inside else floor
    distance_ft = rounded(distance_m / METRES_PER_FOOT)
    tenths_m = rounded(distance_m * 10.0) / 10.0
    direction = DIRECTIONS[floor((float(found.towards_deg[at]) + 22.5) / 45.0) % 8]
    both = f"{distance_ft:,} ft ({tenths_m:,.1f} m)"
    words = (
        f"{both} inside; the way out is {direction}"
        if is_inside
        else f"{both} to the no-spray edge, {direction} of here"
    )
    return {
        "distance_ft": distance_ft,
        "distance_m": tenths_m,
        "distance_words": words,
        "direction": direction,
    }


def _cause(found: Standing, at: int, features: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    number = int(found.feature[at])
    if number < 0:
        return {}
    feature = features[number]
    kinds = {
        row["kind"]: row["words"]
        for name in ("water_kind", "sensitive_kind")
        for row in table(name).rows
    }
    kind = kinds.get(feature["category"], str(feature["category"]))
    downwind = ", downwind" if feature["is_downwind"] else ""
    margin_m = float(feature["margin_m"])
    margin = f" and {distance_words(margin_m)} position margin" if margin_m > 0.0 else ""
    setback = distance_words(feature["distance_m"])
    return {
        "category": feature["category"],
        "name": feature["name"],
        "setback_m": float(feature["distance_m"]),
        "margin_m": margin_m,
        "reason": f"{kind}: {feature['name']}, {setback} setback{downwind}{margin}",
    }
