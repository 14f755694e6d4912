"""The day map: one file that opens anywhere, an outing at a time, with the ground of each stop."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from turfmap.views.map_frame import Sheet, framed
from turfmap.views.map_page import MapNoSpray, MapThing
from turfmap.views.odd_page import PlainZone
from turfmap.views.offline_page import escaped
from turfmap.views.outings import (
    STANDING_CAUTIONS,
    Call,
    Outing,
    Plain,
    amount_words,
    clock_words,
    load_words,
    minutes_words,
    note_words,
    outings,
    sums_words,
    weekday_words,
    zone_words,
)
from turfmap.views.packed_shapes import packed_shapes

_DECIMALS = 6  # 0.1 m


@dataclass(frozen=True)
class DayGround:
    """The ground of the stops of a plan and what lies near them."""

    zones: Sequence[PlainZone] = ()
    no_spray: Sequence[MapNoSpray] = ()
    things: Sequence[MapThing] = field(default=())


def day_map(plan: Plain, ground: DayGround, *, title: str) -> str:
    """Return the map of a plan as one HTML page that fetches nothing.

    The same plan gives the same page, to the byte.

    Parameters
    ----------
    plan
        A result of `turfmap.desk.spray_days.spray_days`. Its text may hold anything: it is shown
        and never run.
    ground
        What is drawn under the stops.
    title
        What the page is called.
    """
    first, last = (weekday_words(plan[key]) for key in ("from", "to"))
    layers = {"zone": ground.zones, "no_spray": ground.no_spray}
    present = {name for name, things in layers.items() if things}
    return framed(
        Sheet(
            title=title,
            page_title=f"{title}, {first} to {last}",
            stamp=f"<span>{escaped(plan['travel']['basis'])}</span>",
            above_map="days/day_bar.html",
            list_side="days/day_list.html",
            cautions_title="Before you treat",
            cautions=list(dict.fromkeys([*STANDING_CAUTIONS, *plan["cautions"]])),
            layers={*present, *(thing.layer for thing in ground.things)},
            scripts=("days/route.js", "days/day_start.js"),
            data=_page_data(plan, ground),
            styles=("days/day_map.css",),
        )
    )


def _page_data(plan: Plain, ground: DayGround) -> dict[str, Any]:
    return {
        "outings": [_outing(one) for one in outings(plan)],
        "left_out": [[one["stop"], one["why"]] for one in plan["left_out"]],
        "zones": {
            "property": [zone.property for zone in ground.zones],
            "name": [zone.name for zone in ground.zones],
            "shapes": packed_shapes([zone.geometry for zone in ground.zones]),
        },
        "no_spray": {
            "category": [one.category_words for one in ground.no_spray],
            "name": [one.name for one in ground.no_spray],
            "distance_m": [one.distance_m for one in ground.no_spray],
            "margin_m": [one.margin_m for one in ground.no_spray],
            "shapes": packed_shapes([one.geometry for one in ground.no_spray]),
        },
        "things": {
            "layer": [thing.layer for thing in ground.things],
            "name": [thing.name for thing in ground.things],
            "kind": [thing.kind_words for thing in ground.things],
            "shapes": packed_shapes([thing.geometry for thing in ground.things]),
        },
    }


def _outing(outing: Outing) -> dict[str, Any]:
    of = outing.of
    return {
        "title": outing.title,
        "crew": of["crew"],
        "leaves": clock_words(of["leaves"]),
        "returns": clock_words(of["returns"]),
        "sums": sums_words(outing),
        "weather": of["weather"],
        "loads": [load_words(mix) for mix in of["mixes"]],
        "depot": _place(outing.depot),
        "way": [_place(at) for at in outing.way()],
        "calls": [_call(call) for call in outing.calls],
    }


def _call(call: Call) -> dict[str, Any]:
    leg, stop = call.leg, call.stop
    at = {"at": _place(call.lon_lat), "arrives": clock_words(leg["arrives"])}
    at |= {"ends": clock_words(leg["ends"]), "drive": minutes_words(leg["drive_min"])}
    if stop is None:
        return at
    return at | {
        "number": leg["number"],
        "starts": clock_words(leg["starts"]),
        "property": stop["property"],
        "title": stop["title"],
        "address": stop["address"],
        "client": stop["client"],
        "zones": [zone["zone"] for zone in stop["zones"]],
        "ground": zone_words(stop),
        "takes": amount_words(stop),
        "notes": note_words(stop),
    }


def _place(lon_lat: tuple[float, float]) -> list[float]:
    """Return latitude and longitude, as the map wants them [deg]."""
    return [round(lon_lat[1], _DECIMALS), round(lon_lat[0], _DECIMALS)]
