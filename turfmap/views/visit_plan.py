"""What a crew is told of one property on one day: the crew page and the day sheet show the same."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

# What every page for a crew says, whatever was asked.
STANDING_CAUTIONS = (
    "The product label is the law, and local rules and a licensed person's judgement come before "
    "this page. Where they differ from it, follow them.",
    "Outside no-spray ground is not permission: look for water, wells, drains, hives, play areas, "
    "people and pets before you treat.",
    "Lines are only as true as the drawing they came from. Measure on the ground near any edge "
    "that matters.",
    "What is written here was true when the page was made. Wind, heat, rain, bloom and plans "
    "change after it.",
)


# In shapes with more corners than this the widest place for a label is too dear to look for.
MANY_CORNERS = 2_000


@dataclass(frozen=True)
class PlanZone:
    """A zone of the property and what may be done there.

    Attributes
    ----------
    name, kind, species_words
        What people call it, its kind (of the table ``zone_kind``), what grows there in words.
    geometry
        Its ground on the property's plane, metres east and north; empty if it has none.
    area
        Its area result: gross, obstacle, no-spray and treatable [m2], and its causes.
    answer
        ``go``, ``wait`` or ``no``.
    reasons, changes, minds, sources
        Why, what would change it, what to mind all the same, and where that is from, in sentences.
    amount
        How much of the product it takes, in words; "" where that is not known.
    rank
        Of zones that share ground, the one with the lowest owns it.
    """

    name: str
    kind: str
    species_words: str
    geometry: BaseGeometry
    area: Mapping[str, Any]
    answer: str
    reasons: Sequence[str]
    changes: Sequence[str] = ()
    minds: Sequence[str] = ()
    sources: Sequence[str] = ()
    amount: str = ""
    rank: int = 0


@dataclass(frozen=True)
class PlanNoSpray:
    """Ground to keep off for one cause.

    Attributes
    ----------
    category, name
        The kind of water or sensitive site, and what people call it.
    distance_m, margin_m
        The setback, and what is added for how well the edge is known [m].
    downwind_only
        Whether only the ground from which the wind reaches it is kept off.
    geometry
        The whole ground on the property's plane [m].
    """

    category: str
    name: str
    distance_m: float
    margin_m: float
    downwind_only: bool
    geometry: BaseGeometry


@dataclass(frozen=True)
class PlanThing:
    """Something else there: water, sensitive_site, obstacle, canopy, gate or property.

    Attributes
    ----------
    kind
        Of the layer's table of kinds, or "".
    notes
        What somebody noted of it: a gate's latch, a keeper's wish.
    geometry
        On the property's plane [m].
    """

    layer: str
    name: str
    kind: str
    notes: str
    geometry: BaseGeometry


@dataclass(frozen=True)
class VisitPlan:
    """All that a crew is told of one property.

    Attributes
    ----------
    property, client, address, state
        As the layer property has them.
    on
        The day, or day and time, ISO 8601.
    product
        What is to be applied; "" if nobody said.
    origin
        Longitude and latitude of the `turfmap.ground.here.LocalPlane` that the shapes are on
        [degree].
    surveyed_on
        When somebody last looked for what must be protected, ISO; "" if nobody did by that day.
    weather
        What was said of wind, air and droplets, in words.
    load
        A result of `turfmap.desk.mix.mix`, or None.
    load_faults
        Why there is no load, in sentences.
    label
        What the label says that a crew must know, in words by name.
    tasks
        Tasks that the visit may be: those that the product serves come first.
    task
        The only task that the product serves; "" if there are none or several.
    posting
        What rules say of signs and re-entry, in sentences.
    cautions
        What the reader must be told.
    """

    property: str
    client: str
    address: str
    state: str
    on: str
    product: str
    origin: tuple[float, float]
    surveyed_on: str
    weather: str
    zones: Sequence[PlanZone]
    no_spray: Sequence[PlanNoSpray]
    things: Sequence[PlanThing]
    load: Mapping[str, Any] | None = None
    load_faults: Sequence[str] = ()
    label: Mapping[str, str] = field(default_factory=dict)
    tasks: Sequence[str] = ()
    task: str = ""
    posting: Sequence[str] = ()
    cautions: Sequence[str] = ()

    def label_places(self) -> list[BaseGeometry]:
        """Return where each zone's answer is written: a point of ground that it is true of.

        A GO on cross-hatch would say the contrary of the truth. Of a zone that is lost
        altogether, a point inside it.
        """
        lost = [one.geometry for one in self.no_spray]
        lost += [one.geometry for one in self.things if one.layer == "obstacle"]
        taken = shapely.union_all(lost)
        return [self._label_place(zone, taken) for zone in self.zones]

    def _label_place(self, zone: PlanZone, taken: BaseGeometry) -> BaseGeometry:
        over = shapely.union_all([taken, *(o.geometry for o in self.zones if o.rank < zone.rank)])
        if shapely.get_num_coordinates(zone.geometry) > MANY_CORNERS:
            return _thrown_into(zone.geometry, over)
        if not shapely.is_valid(zone.geometry) or shapely.area(zone.geometry) <= 0.0:
            return shapely.point_on_surface(zone.geometry)
        clear = shapely.difference(zone.geometry, over)
        bare = clear if shapely.area(clear) > 0.0 else zone.geometry
        # To a fortieth of the size is enough for a label, and quick.
        tolerance_m = np.maximum(shapely.length(shapely.envelope(bare)) / 160.0, 1e-3)
        circle = shapely.maximum_inscribed_circle(bare, tolerance=tolerance_m)
        return shapely.Point(shapely.get_coordinates(circle)[0])


def _thrown_into(shape: BaseGeometry, over: BaseGeometry) -> BaseGeometry:
    """Return a point of a shape clear of what lies over it, from a grid: cutting would be dear."""
    west, south, east, north = shapely.bounds(shape)
    x, y = np.meshgrid(np.linspace(west, east, 40), np.linspace(south, north, 40))
    shapely.prepare(shape)
    is_clear = shapely.contains_xy(shape, x, y) & ~shapely.intersects_xy(over, x, y)
    if not is_clear.any():
        return shapely.point_on_surface(shape)
    xy = np.column_stack([x[is_clear], y[is_clear]])
    apart_m = np.nan_to_num(shapely.distance(shapely.points(xy), over))
    return shapely.Point(xy[apart_m.argmax()])
