"""The map: one file that opens anywhere, with what is due on each zone and where not to spray."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from shapely.geometry.base import BaseGeometry

from turfmap.foundations.dates import day_words
from turfmap.foundations.definitions import table
from turfmap.views.label_places import label_places
from turfmap.views.map_frame import Sheet, framed
from turfmap.views.map_overlays import NO_OVERLAYS, MapOverlays, overlay_data
from turfmap.views.packed_shapes import packed_shapes

# What every map says, whatever was asked of it.
STANDING_CAUTIONS = (
    "The product label is the law, and local rules and a licensed person's judgement come before "
    "this map. Where they differ from it, follow them.",
    "None on this map does not mean none on the ground. Look for water, wells, drains, hives, play "
    "areas and neighbours' plantings before you treat.",
    "Lines are only as true as the drawing they came from. Measure on the ground near any edge "
    "that matters.",
    "The map tells what was known on its date. Weather, bloom, people and plans change after it.",
)

_SCRIPTS = ("season.js", "weeks.js", "details.js", "zone_list.js", "overlay.js", "start.js")


@dataclass(frozen=True)
class MapZone:
    """A patch of ground on the map.

    Attributes
    ----------
    property, name
        What people call the place and the zone.
    kind_words, species_words
        What it is and what grows there, in words.
    geometry
        Polygon or MultiPolygon, WGS 84 longitude and latitude [degree].
    area
        Its area result: gross, obstacle, no-spray and treatable [m2], and each cause with its
        ``category_words``.
    tasks
        What is due, ranked; the state of the first is the zone's colour.
    pattern
        Where the map has weeks: the place of the zone's own in `MapWeeks.patterns`.
    plants
        What stands in a bed: each plant with how many, and when it is pruned, in words.
    measured
        What rasters said of it, each a title and words: slope, sun, and where they come from.
    """

    property: str
    name: str
    kind_words: str
    species_words: str
    geometry: BaseGeometry
    area: dict[str, Any]
    tasks: list[dict[str, Any]]
    pattern: int = -1
    plants: Sequence[tuple[str, str]] = ()
    measured: Sequence[tuple[str, str]] = ()


@dataclass(frozen=True)
class MapNoSpray:
    """Ground to keep off for one cause.

    Attributes
    ----------
    category_words, name
        What is protected, in words, and what people call it.
    distance_m, margin_m
        The setback, and what is added for how well the edge is known [m].
    geometry
        The ground, WGS 84 longitude and latitude [degree].
    """

    category_words: str
    name: str
    distance_m: float
    margin_m: float
    geometry: BaseGeometry


@dataclass(frozen=True)
class MapThing:
    """Something else on the ground: water, sensitive_site, obstacle, canopy, gate or property."""

    layer: str
    name: str
    kind_words: str
    geometry: BaseGeometry


@dataclass(frozen=True)
class MapWeeks:
    """What is due week by week, as far as known on the map's date.

    Attributes
    ----------
    days
        One day a week, in order; the map's date is one of them.
    states
        Ids of the table ``state``; a state's place is its digit in `patterns`.
    tasks
        ``task``, ``title`` and ``code`` of each task that some zone has.
    patterns
        What zones of the same situation share. ``first``: for each day the place in `tasks` of the
        task that colours the zone, or -1; ``state``: a digit a day, that task's state; ``tasks``:
        for each task of the zone, by its place as text, a digit a day, its state.
    """

    days: Sequence[date]
    states: Sequence[str]
    tasks: Sequence[dict[str, str]]
    patterns: Sequence[dict[str, Any]]


@dataclass(frozen=True)
class MapContent:
    """All that a map shows; without `weeks`, for one day only."""

    title: str
    as_of: date
    zones: Sequence[MapZone] = ()
    no_spray: Sequence[MapNoSpray] = ()
    things: Sequence[MapThing] = ()
    cautions: Sequence[str] = field(default=())
    weeks: MapWeeks | None = None
    overlays: MapOverlays = field(default=NO_OVERLAYS)


def map_page(content: MapContent) -> str:
    """Return the map as one HTML page that fetches nothing.

    The same content gives the same page, to the byte.

    Parameters
    ----------
    content
        What to show. Its text may hold anything: it is shown and never run.

    Raises
    ------
    KeyError
        If a task's state is not in the table ``state``, or a thing's layer is none of ours.
    ValueError
        If there are weeks and the map's date is none of their days.
    """
    day, iso = day_words(content.as_of), content.as_of.isoformat()
    return framed(
        Sheet(
            title=content.title,
            page_title=f"{content.title}, as of {day}",
            stamp=f'As of <time datetime="{iso}">{day}</time>',
            above_map="week_bar.html" if content.weeks else "",
            list_side="map_list.html",
            cautions_title="Before you treat",
            cautions=tuple(dict.fromkeys((*STANDING_CAUTIONS, *content.cautions))),
            layers=_layers(content),
            scripts=_SCRIPTS,
            data=_page_data(content),
        )
    )


def _layers(content: MapContent) -> set[str]:
    found = {thing.layer for thing in content.things}
    found |= {"zone"} if content.zones else set()
    found |= {one.measure for one in content.overlays.pictures} & {"slope", "sun"}
    return found | ({"no_spray"} if content.no_spray else set())


def _page_data(content: MapContent) -> dict[str, Any]:
    states = sorted(table("state").rows, key=lambda row: row["order"])
    rank = {row["state"]: place for place, row in enumerate(states)}
    zones = sorted(content.zones, key=lambda z: (rank[zone_state(z)], z.property, z.name))
    tasks: dict[str, int] = {}
    data: dict[str, Any] = {
        "as_of": content.as_of.isoformat(),
        "states": [_only(row, _STATE_KEYS) for row in states],
        "zones": _zone_columns(zones, tasks, covers=_covers(content)),
        "tasks": [json.loads(task) for task in tasks],
        "no_spray": _no_spray_columns(content.no_spray),
        "things": {
            "layer": [thing.layer for thing in content.things],
            "name": [thing.name for thing in content.things],
            "kind": [thing.kind_words for thing in content.things],
            "shapes": packed_shapes([thing.geometry for thing in content.things]),
        },
    }
    if any(zone.plants for zone in zones):
        data["zones"]["plants"] = [list(zone.plants) for zone in zones]
    if any(zone.measured for zone in zones):
        data["zones"]["measured"] = [list(zone.measured) for zone in zones]
    if content.overlays.pictures:
        data["overlays"] = overlay_data(content.overlays)
    if content.weeks is None:
        return data
    data["zones"]["pattern"] = [zone.pattern for zone in zones]
    return data | {"weeks": _weeks(content.weeks, content.as_of)}


def _weeks(weeks: MapWeeks, as_of: date) -> dict[str, Any]:
    return {
        "days": [day.isoformat() for day in weeks.days],
        "now": list(weeks.days).index(as_of),
        "states": list(weeks.states),
        "tasks": list(weeks.tasks),
        "patterns": list(weeks.patterns),
    }


_STATE_KEYS = ("state", "words", "colour", "pattern", "plain")
_CAUSE_KEYS = ("category_words", "name", "distance_m", "margin_m", "lost_m2")


def _only(row: Mapping[str, Any], keys: Sequence[str]) -> dict[str, Any]:
    return {key: row[key] for key in keys}


def zone_state(zone: MapZone) -> str:
    """Return the state that colours a zone: its first task's, or ``none``."""
    return str(zone.tasks[0]["state"]) if zone.tasks else "none"


def _covers(content: MapContent) -> list[BaseGeometry]:
    over_zones = {"obstacle", "water", "sensitive_site"}
    things = [thing.geometry for thing in content.things if thing.layer in over_zones]
    return things + [ground.geometry for ground in content.no_spray]


def _zone_columns(
    zones: Sequence[MapZone], tasks: dict[str, int], *, covers: Sequence[BaseGeometry]
) -> dict[str, Any]:
    places, rooms = label_places([zone.geometry for zone in zones], covers)
    return {
        "property": [zone.property for zone in zones],
        "name": [zone.name for zone in zones],
        "kind": [zone.kind_words for zone in zones],
        "species": [zone.species_words for zone in zones],
        "area_m2": [_whole_area(zone.area) for zone in zones],
        "causes": [[_only(cause, _CAUSE_KEYS) for cause in zone.area["causes"]] for zone in zones],
        "tasks": [[_place(task, tasks) for task in zone.tasks] for zone in zones],
        "place": places,
        "room": rooms,
        "shapes": packed_shapes([zone.geometry for zone in zones]),
    }


def _whole_area(area: dict[str, Any]) -> list[float]:
    parts = ("gross_m2", "obstacle_m2", "no_spray_m2", "treatable_m2")
    return [round(area[part], 2) for part in parts]


def _place(task: dict[str, Any], tasks: dict[str, int]) -> int:
    """Return a task's place in the list of different tasks: many zones share one."""
    return tasks.setdefault(json.dumps(task, sort_keys=True), len(tasks))


def _no_spray_columns(no_spray: Sequence[MapNoSpray]) -> dict[str, Any]:
    return {
        "category": [ground.category_words for ground in no_spray],
        "name": [ground.name for ground in no_spray],
        "distance_m": [ground.distance_m for ground in no_spray],
        "margin_m": [ground.margin_m for ground in no_spray],
        "shapes": packed_shapes([ground.geometry for ground in no_spray]),
    }
