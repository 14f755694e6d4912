"""An invented plan for the tests of its views: two trucks, three stops, one left out."""

from collections.abc import Callable
from copy import deepcopy
from typing import Any

import shapely

from turfmap.views.day_map import DayGround
from turfmap.views.map_page import MapNoSpray
from turfmap.views.odd_page import PlainZone

BASIS = "Estimated times: 1.4 times the straight line at 25 mph."
HOSTILE = (
    "<img src=x onerror=globalThis.ran=1>",
    "</script><script>globalThis.ran=2</script>",
    "{{ 7 * 7 }} $policy ${x}",
    "=HYPERLINK(1)",
    "\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nUID:evil",
    "\x00\x0b \u202e ]]> &amp;",
)


def _stop(
    name: str, day: str | None, number: int | None, clock: str, at: tuple[float, float]
) -> Any:
    starts = f"{day}T{clock}" if day else None
    return {
        "stop": f"{name} · Autumn pre-emergent",
        "property": name,
        "task": "autumn_pre_emergent",
        "title": "Autumn pre-emergent",
        "zones": [{"zone": "Front lawn", "treatable_m2": 400.0, "treatable_sqft": 4305.56}],
        "longitude": at[0],
        "latitude": at[1],
        "minutes": 25.0,
        "first": "2026-09-10",
        "last": "2026-10-05",
        "closes": "2026-10-05",
        "product": "Barrier spray",
        "mix": "Barrier spray",
        "amount": 12.5,
        "unit": "gal",
        "is_ready": True,
        "not_ready": [],
        "priority": 2,
        "licences": ["applicator"],
        "no_go": "",
        "gates": ["Side gate, 3.8 ft wide"] if name == "Alder" else [],
        "contact": "",
        "notes": "",
        "address": f"{name} Lane 1",
        "client": f"Client of {name}",
        "day": day,
        "truck": "Truck 1" if day else None,
        "starts": starts,
        "ends": starts,
        "number": number,
        "was": {"day": "2026-09-15", "truck": "Truck 1"} if name == "Birch" else None,
        "follows": None,
    }


STOPS = [
    _stop("Alder", "2026-09-14", 1, "07:40", (-89.2, 40.1)),
    _stop("Birch", "2026-09-14", 2, "08:40", (-89.198, 40.101)),
    _stop("Cedar", "2026-09-16", 1, "07:40", (-89.196, 40.1)),
    _stop("Dogwood", None, None, "", (-89.19, 40.1)),
]


def _leg(number: int, stop: dict[str, Any], ends: str) -> dict[str, Any]:
    day = stop["day"]
    times = {"arrives": stop["starts"], "starts": stop["starts"], "ends": f"{day}T{ends}"}
    way = {"drive_min": 5.0, "miles": 2.0, "wait_min": 0.0}
    return {"kind": "stop", "number": number, "stop": stop["stop"], **times, **way}


def _refill(at: str, ends: str) -> dict[str, Any]:
    place = {"longitude": -89.21, "latitude": 40.11}
    return {"kind": "refill", "arrives": at, "ends": ends, "drive_min": 5.0, "miles": 2.0, **place}


def _outing(day: str, legs: list[dict[str, Any]]) -> dict[str, Any]:
    mix = {"mix": "Barrier spray", "amount": 25.0, "unit": "gal", "tank": 20.0, "tanks": 1.25}
    return {
        "day": day,
        "truck": "Truck 1",
        "crew": "Crew of the first truck",
        "leaves": f"{day}T07:30",
        "returns": f"{day}T10:00",
        "depot": {"longitude": -89.21, "latitude": 40.11},
        "blocks": [[f"{day}T07:30", f"{day}T12:00"]],
        "weather": "mild",
        "driving_min": 15.0,
        "working_min": 50.0,
        "refill_min": 20.0,
        "waiting_min": 0.0,
        "miles": 6.0,
        "refills": sum(leg["kind"] == "refill" for leg in legs),
        "mixes": [mix],
        "saves": {
            "hour": {"stops": 0, "words": "One more hour: no more stops."},
            "tank": {"minutes": 20.0, "words": "One more tank of each mix: 20 min less."},
        },
        "legs": legs,
        "home_min": 5.0,
        "home_miles": 2.0,
    }


_LEGS = [_leg(1, STOPS[0], "08:05"), _refill("2026-09-14T08:10", "2026-09-14T08:30")]
PLAN: dict[str, Any] = {
    "from": "2026-09-14",
    "to": "2026-09-17",
    "travel": {"basis": BASIS, "is_estimated": True, "source": "test"},
    "utc_offset_h": -6.0,
    "totals": {
        "stops": 4,
        "served": 3,
        "left_out": 1,
        "driving_min": 30.0,
        "working_min": 75.0,
        "miles": 12.0,
        "truck_days": 2,
        "refills": 1,
    },
    "days": [
        _outing("2026-09-14", [*_LEGS, _leg(2, STOPS[1], "09:05")]),
        _outing("2026-09-16", [_leg(1, STOPS[2], "08:05")]),
    ],
    "stops": STOPS,
    "left_out": [
        {
            "stop": STOPS[3]["stop"],
            "property": "Dogwood",
            "task": "autumn_pre_emergent",
            "last": "2026-10-05",
            "can_wait": True,
            "binds": "hours",
            "why": "no truck has hours left",
        }
    ],
    "moved": [
        {
            "stop": STOPS[1]["stop"],
            "property": "Birch",
            "from": {"day": "2026-09-15", "truck": "Truck 1"},
            "to": {"day": "2026-09-14", "truck": "Truck 1"},
            "weather": "no hour is fit to spray in",
        }
    ],
    "trucks": [{"truck": "Truck 1"}, {"truck": "Truck 2"}],
    "cautions": ["Barrier spray has not been confirmed from its label."],
}


def plan(change: Callable[[str], str] = lambda text: text) -> dict[str, Any]:
    """Return the plan; `change` is put on every text that a user could have written."""
    made = deepcopy(PLAN)
    names = {stop["stop"]: change(stop["stop"]) for stop in made["stops"]}
    for stop in made["stops"]:
        stop["stop"] = names[stop["stop"]]
        for key in ("property", "address", "client", "mix", "product"):
            stop[key] = change(stop[key])
        stop["zones"][0]["zone"] = change(stop["zones"][0]["zone"])
        stop["notes"] = change("note")
    for day in made["days"]:
        day["crew"], day["truck"] = change(day["crew"]), change(day["truck"])
        for leg in day["legs"]:
            if leg["kind"] == "stop":
                leg["stop"] = names[leg["stop"]]
    for one in made["left_out"]:
        one["stop"], one["property"] = names[one["stop"]], change(one["property"])
    for one in made["moved"]:
        one["stop"] = names[one["stop"]]
    for truck in made["trucks"]:
        truck["truck"] = change(truck["truck"])
    return made


def ground(change: Callable[[str], str] = lambda text: text) -> DayGround:
    """Return a square of lawn round each stop, and a well beside the first."""
    zones = [
        PlainZone(
            change(stop["property"]),
            change("Front lawn"),
            shapely.Point(stop["longitude"], stop["latitude"]).buffer(2e-4, cap_style="square"),
        )
        for stop in STOPS
    ]
    well = shapely.Point(-89.2, 40.1001).buffer(1.5e-4)
    return DayGround(zones, [MapNoSpray("Well", change("Old well"), 15.24, 3.0, well)])
