"""An invented estate for the tests of pages: shapes made in code, words of our own."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from turfmap.foundations.definitions import table
from turfmap.views.map_page import MapContent, MapNoSpray, MapThing, MapWeeks, MapZone
from turfmap.views.odd_page import OddContent, OddThing, PlainZone

AS_OF = date(2026, 9, 24)
ESTATE = "Larkmoor House"
WEST, SOUTH = -89.2, 40.1
METRES_PER_DEGREE = 111_000.0

# Nine shapes of grass and bed in metres east and north of the estate's corner.
ZONES: dict[str, tuple[str, str, list[tuple[float, float]], str]] = {
    "Front lawn": (
        "Turf",
        "Tall fescue",
        [(20, 15), (98, 12), (101, 62), (60, 74), (18, 66)],
        "due",
    ),
    "Drive verge": (
        "Turf",
        "Perennial ryegrass",
        [(112, 8), (124, 8), (130, 78), (117, 80)],
        "due",
    ),
    "House lawn": ("Turf", "Kentucky bluegrass", [(22, 84), (70, 84), (74, 128), (20, 132)], "ask"),
    "Pond lawn": (
        "Turf",
        "Tall fescue",
        [(132, 92), (216, 84), (232, 140), (222, 172), (130, 166)],
        "held",
    ),
    "Play lawn": (
        "Turf",
        "Kentucky bluegrass",
        [(142, 18), (196, 16), (200, 66), (146, 72)],
        "soon",
    ),
    "Orchard grass": (
        "Turf",
        "Fine fescues",
        [(18, 142), (84, 138), (86, 182), (20, 184)],
        "later",
    ),
    "Long border": ("Bed", "Hydrangea, catmint", [(22, 74), (88, 80), (88, 84), (22, 79)], "soon"),
    "Rose bed": ("Bed", "Roses", [(206, 20), (226, 24), (224, 44), (205, 42)], "missed"),
    "Well corner": ("Turf", "Tall fescue", [(206, 52), (236, 54), (234, 76), (208, 74)], "done"),
}

TASKS: dict[str, dict[str, Any]] = {
    "due": {
        "task": "overseed",
        "title": "Overseed",
        "code": "OS",
        "opens": "2026-09-10",
        "closes": "2026-10-05",
        "reasons": [
            "Soil at 4 in has been under 70 °F for five days.",
            "Thin stand noted in June.",
        ],
        "tell_client": "Keep the seed moist: light water twice a day for two weeks.",
    },
    "ask": {
        "task": "autumn_pre_emergent",
        "title": "Autumn pre-emergent",
        "code": "PA",
        "opens": "2026-09-15",
        "closes": "2026-10-10",
        "holds": ["Is overseeding planned here? Nobody has asked. It would stop the seed."],
    },
    "held": {
        "task": "autumn_pre_emergent",
        "title": "Autumn pre-emergent",
        "code": "PA",
        "opens": "2026-09-15",
        "closes": "2026-10-10",
        "holds": ["Overseeding is planned on 2 Oct 2026: a pre-emergent would stop the seed."],
    },
    "soon": {"task": "feed", "title": "Feed", "code": "FE", "opens": "2026-10-01", "closes": None},
    "later": {
        "task": "last_cut",
        "title": "Last cut",
        "code": "LC",
        "opens": "2026-11-01",
        "closes": "2026-11-20",
    },
    "missed": {
        "task": "prune",
        "title": "Prune",
        "code": "PR",
        "opens": "2026-02-20",
        "closes": "2026-03-31",
        "reasons": ["The window closed before the buds broke."],
    },
    "done": {"task": "feed", "title": "Feed", "code": "FE", "opens": None, "closes": "2026-10-31"},
}


def on_the_globe(shape: BaseGeometry) -> BaseGeometry:
    """Return a shape in metres as longitude and latitude [degree]."""
    squeeze = np.cos(np.radians(SOUTH))
    return shapely.transform(
        shape,
        lambda xy: np.column_stack(
            [WEST + xy[:, 0] / METRES_PER_DEGREE / squeeze, SOUTH + xy[:, 1] / METRES_PER_DEGREE]
        ),
    )


def task(state: str) -> dict[str, Any]:
    """Return an invented task in a state, as the season's results are shaped."""
    blank = {
        "reasons": [],
        "holds": [],
        "sources": ["A handbook of turf, table 3"],
        "tell_client": "",
    }
    return {**blank, **TASKS[state], "state": state}


def estate(reword: Callable[[str], str] = str) -> MapContent:
    """Return the estate; `reword` changes every name in it."""
    pond = shapely.Point(186, 128).buffer(19).union(shapely.Point(202, 138).buffer(14))
    stream = shapely.LineString([(202, 152), (214, 168), (218, 182), (232, 196)])
    well = shapely.Point(221, 65)
    hives = shapely.Point(252, 108)
    house = shapely.box(84, 92, 116, 118).union(shapely.box(100, 112, 122, 132))
    drive = shapely.LineString([(106, -2), (107, 40), (112, 90)]).buffer(3.2, cap_style="flat")
    kitchen = shapely.box(92, 142, 122, 168)
    edge = shapely.Polygon([(8, -2), (128, -6), (244, 8), (250, 196), (120, 202), (4, 192)])
    protected = [
        ("Pond", "Larkmoor pond", 7.62, 1.0, pond),
        ("Stream", "Withy brook", 7.62, 3.0, stream),
        ("Well", "Old well", 15.24, 1.0, well),
        ("Bee hives", "Hives next door", 10.0, 3.0, hives),
        ("Kitchen garden", "Walled garden", 3.048, 0.5, kitchen),
    ]
    kept_off = [(*row[:4], row[4].buffer(row[2] + row[3], 32)) for row in protected]
    things = [
        MapThing("property", reword(ESTATE), "", on_the_globe(edge)),
        MapThing("obstacle", reword("The house"), "Building", on_the_globe(house)),
        MapThing("obstacle", reword("The drive"), "Drive", on_the_globe(drive)),
        MapThing("water", reword("Larkmoor pond"), "Pond", on_the_globe(pond)),
        MapThing("water", reword("Withy brook"), "Stream", on_the_globe(stream)),
        MapThing("water", reword("Old well"), "Well", on_the_globe(well)),
        MapThing("sensitive_site", reword("Hives next door"), "Bee hives", on_the_globe(hives)),
        MapThing(
            "sensitive_site", reword("Walled garden"), "Kitchen garden", on_the_globe(kitchen)
        ),
        MapThing("gate", reword("Road gate"), "12 ft wide", on_the_globe(shapely.Point(106, -4))),
    ]
    things += [
        MapThing("canopy", reword("Apple"), "Tree", on_the_globe(shapely.Point(x, y).buffer(4.5)))
        for x in (30, 46, 62, 76)
        for y in (150, 172)
    ]
    everything_off: list[Cause] = [(*row[:4], row[4]) for row in kept_off]
    return MapContent(
        title=reword(f"{ESTATE}: what is due"),
        as_of=AS_OF,
        zones=[_zone(name, everything_off, reword) for name in ZONES],
        no_spray=[
            MapNoSpray(category, reword(name), distance_m, margin_m, on_the_globe(shape))
            for category, name, distance_m, margin_m, shape in kept_off
        ],
        things=things,
        cautions=[reword("Setbacks are from the shipped table, not from a label in hand.")],
    )


Cause = tuple[str, str, float, float, BaseGeometry]


def _zone(name: str, kept_off: list[Cause], reword: Callable[[str], str]) -> MapZone:
    kind, species, corners, state = ZONES[name]
    shape: BaseGeometry = shapely.Polygon(corners)
    if name == "Play lawn":  # one zone with a hole, one in two parts
        shape = shape.difference(shapely.Point(170, 44).buffer(9))
    if name == "Drive verge":
        shape = shape.difference(shapely.box(100, 38, 140, 46))
    off = shapely.union_all([row[4] for row in kept_off]).intersection(shape)
    causes = [
        {
            "category_words": category.lower(),
            "name": reword(cause),
            "distance_m": distance_m,
            "margin_m": margin_m,
            "lost_m2": ground.intersection(shape).area,
            "gross_lost_m2": ground.intersection(shape).area,
        }
        for category, cause, distance_m, margin_m, ground in kept_off
        if ground.intersects(shape)
    ]
    area = {
        "gross_m2": shape.area,
        "obstacle_m2": 0.0,
        "no_spray_m2": off.area,
        "treatable_m2": shape.area - off.area,
        "causes": causes,
    }
    tasks = [task(state), task("later")] if state != "later" else [task(state)]
    return MapZone(
        reword(ESTATE), reword(name), kind, reword(species), on_the_globe(shape), area, tasks
    )


def with_weeks(content: MapContent) -> MapContent:
    """Return the content with five weeks round its date; each task moves on to a plain end."""
    states = [str(row["state"]) for row in sorted(table("state").rows, key=lambda r: r["order"])]
    tasks = list({task["task"]: task for zone in content.zones for task in zone.tasks}.values())
    place = {task["task"]: number for number, task in enumerate(tasks)}
    patterns = []
    for zone in content.zones:
        digits = {str(place[t["task"]]): _digits(states, t["state"]) for t in zone.tasks}
        first = str(place[zone.tasks[0]["task"]])
        last = str(place[zone.tasks[-1]["task"]])  # in the last week the other task comes first
        patterns.append(
            {
                "first": [int(first)] * 4 + [int(last)],
                "state": digits[first][:4] + digits[last][4],
                "tasks": digits,
            }
        )
    weeks = MapWeeks(
        days=[AS_OF + timedelta(weeks=week) for week in range(-1, 4)],
        states=states,
        tasks=[{key: task[key] for key in ("task", "title", "code")} for task in tasks],
        patterns=patterns,
    )
    zones = [replace(zone, pattern=number) for number, zone in enumerate(content.zones)]
    return replace(content, zones=zones, weeks=weeks)


def _digits(states: list[str], state: str) -> str:
    """Return five weeks of a task: soon, its state on the date, then due, then done."""
    weeks = ["soon", state, "later" if state == "later" else "due", "due", "done"]
    return "".join(str(states.index(week)) for week in weeks)


def odd_estate(reword: Callable[[str], str] = str) -> OddContent:
    """Return the estate's zones with four things to look at; `reword` changes every name."""
    content = estate(reword)
    shapes = {name: zone.geometry for name, zone in zip(ZONES, content.zones, strict=True)}
    strip = on_the_globe(shapely.box(196, 16, 197, 60))
    found = [
        ("broken shape", "Rose bed", "Self-intersection", 0.0, shapes["Rose bed"]),
        ("drawn twice", "Long border", "shared with Front lawn", 21.4, strip),
        ("drawn twice", "Well corner", "shared with Pond lawn", 3.2, shapes["Well corner"]),
        ("no ground", "House lawn", "it has no area", 0.0, None),
    ]
    return OddContent(
        title=reword(ESTATE),
        zones=[PlainZone(zone.property, zone.name, zone.geometry) for zone in content.zones],
        properties=[thing.geometry for thing in content.things if thing.layer == "property"],
        odd=[
            OddThing(problem, reword(ESTATE), reword(zone), words, "Draw it again.", m2, shape)
            for problem, zone, words, m2, shape in found
        ],
    )


# Text that is a program to a template, a page or a script. From the template languages' and the
# HTML standard's own syntax; no list is complete, so the property test mixes them further.
HOSTILE = (
    "{{ 7*7 }}",
    "{% if 7*7 == 49 %}RAN{% endif %}",
    "{# gone #}",
    "{{ unclosed",
    "$map ${data} $$",
    "`${globalThis.ran = 1}`",
    "\\`\\\\`",
    "</script><script>globalThis.ran = 1</script>",
    "<!--<script>",
    '<img src=x onerror="globalThis.ran = 1">',
    "\"><svg onload='globalThis.ran = 1'>",
    "javascript:globalThis.ran=1",
    "__proto__",
    "line\u2028and\u2029paragraph",
    "half \ud800 character",
    "&lt;b&gt; &amp;",
)
