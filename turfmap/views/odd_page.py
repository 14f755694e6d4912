"""The page of what is odd about drawn zones: where each of them is, and what to do about it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import shapely

from turfmap.views.label_places import label_places
from turfmap.views.map_frame import Sheet, framed
from turfmap.views.offline_page import escaped
from turfmap.views.packed_shapes import packed_shapes

# What the page says of itself, whatever was found.
CAUTIONS = (
    "Nothing was changed. Draw again what is wrong, then look once more.",
    "Only the drawing was looked at: a shape without a mark may still lie in the wrong place.",
    "This page does not say what is due, nor where not to spray. Make the map for that.",
)


@dataclass(frozen=True)
class OddThing:
    """One thing to look at.

    Attributes
    ----------
    problem_words
        What it is, in a few words; things of the same words share a button.
    property, zone
        What people call the place and the zone.
    words
        What is particular to this one, or nothing.
    plain
        What it means, and what to do.
    area_m2
        How much ground it is about [m2]; 0 where it is about none.
    geometry
        Where, WGS 84 longitude and latitude [degree]; None where there is nothing to draw.
    """

    problem_words: str
    property: str
    zone: str
    words: str
    plain: str
    area_m2: float
    geometry: shapely.Geometry | None


@dataclass(frozen=True)
class PlainZone:
    """A zone drawn plainly; its shape is None where it has no ground."""

    property: str
    name: str
    geometry: shapely.Geometry | None


@dataclass(frozen=True)
class OddContent:
    """All that the page shows: zones and property lines under what is odd."""

    title: str
    zones: Sequence[PlainZone] = ()
    properties: Sequence[shapely.Geometry] = ()
    odd: Sequence[OddThing] = ()


def odd_page(content: OddContent) -> str:
    """Return the page of what is odd as one HTML page that fetches nothing.

    The same content gives the same page, to the byte.

    Parameters
    ----------
    content
        What to show, numbered in its order. Its text may hold anything: it is shown and never run.
    """
    found = (("zone", content.zones), ("property", content.properties), ("odd", content.odd))
    count = len(content.odd)
    stamp = f"<strong>{count:,}</strong> {'thing' if count == 1 else 'things'} to look at"
    return framed(
        Sheet(
            title=content.title,
            page_title=f"What is odd in {content.title}",
            stamp=stamp if count else escaped("Nothing odd was found"),
            above_map="",
            list_side="odd_list.html",
            cautions_title="What this page is",
            cautions=CAUTIONS,
            layers={layer for layer, things in found if things},
            scripts=("odd_start.js",),
            data=_page_data(content),
        )
    )


def _page_data(content: OddContent) -> dict[str, Any]:
    places, rooms = label_places([thing.geometry for thing in content.odd])
    return {
        "zones": {
            "property": [zone.property for zone in content.zones],
            "name": [zone.name for zone in content.zones],
            "shapes": packed_shapes([zone.geometry for zone in content.zones]),
        },
        "properties": {"shapes": packed_shapes(content.properties)},
        "odd": {
            "problem": [thing.problem_words for thing in content.odd],
            "property": [thing.property for thing in content.odd],
            "zone": [thing.zone for thing in content.odd],
            "words": [thing.words for thing in content.odd],
            "plain": [thing.plain for thing in content.odd],
            "area_m2": [round(thing.area_m2, 2) for thing in content.odd],
            "shapes": packed_shapes([thing.geometry for thing in content.odd]),
            "place": places,
            "room": rooms,
        },
    }
