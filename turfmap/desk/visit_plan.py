"""What a crew must know of a property on a day, brought together from all that is judged of it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from turfmap.days.conditions import Conditions
from turfmap.days.products import split
from turfmap.days.survey import survey_counts, survey_lasts_d
from turfmap.desk.area import measured
from turfmap.desk.check import CheckAsked, check, wind_of
from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.place import LON_LAT, Place, rank_of, read_place
from turfmap.desk.place_in_wind import PlaceInWind, in_wind
from turfmap.desk.product_book import find_product
from turfmap.desk.protected import Overrides
from turfmap.desk.visit_load import LoadAsked, load_of
from turfmap.desk.visit_words import label_words, weather_words
from turfmap.foundations.checks import as_text
from turfmap.foundations.dates import iso_date
from turfmap.foundations.definitions import Row, table
from turfmap.foundations.errors import input_fault
from turfmap.foundations.shapes import is_present
from turfmap.ground.here import LocalPlane
from turfmap.ground.nospray import no_spray_ground
from turfmap.store import geopackage
from turfmap.views.visit_plan import PlanNoSpray, PlanThing, PlanZone, VisitPlan

# Obstacles, trees and gates farther from the property than this are its neighbours' [m].
BESIDE_M = 8.0
METRES_PER_DEGREE = 111_000.0
NO_PRODUCT = "No product was named, so nothing can be said of treating this ground."
NO_HOUR = "At what hour? The day alone was given, and what is right at one hour is not at another."
OTHER_LAYERS = ("obstacle", "canopy", "gate")


@dataclass(frozen=True)
class PlanAsked:
    """For what a plan is made.

    Attributes
    ----------
    product
        To be applied; None if nobody said: then nothing is a go.
    conditions
        The day with its wind, air and droplets; what nobody said is None. The day must be there.
    load
        Of the load, what is wanted.
    weather_file, forecast_file
        As for `turfmap.desk.check.CheckAsked`.
    knows_hour
        Whether the hour was given and not the day alone; without it nothing is a go.
    """

    product: str | None
    conditions: Conditions
    load: LoadAsked = field(default_factory=LoadAsked)
    weather_file: Path | None = None
    forecast_file: Path | None = None
    knows_hour: bool = True


def visit_plan(
    path: Path, property_name: str, asked: PlanAsked, *, overrides: Overrides
) -> VisitPlan:
    """Return the plan of one property.

    Raises
    ------
    InputFaultsError
        If there is no such property or product, no day is given, or something in the file needs
        mending. A load that cannot be worked out is no fault: the plan says why.
    """
    conditions = asked.conditions
    if conditions.on is None:
        raise input_fault("no day is given", "add --on, such as 2026-10-03T08:00")
    place = read_place(
        path, property_name=property_name, product=asked.product, overrides=overrides
    )
    place = in_wind(place, wind_of(conditions))
    judged = _judged(path, property_name, asked, place, overrides=overrides)
    if not asked.knows_hour:
        judged["zones"] = [_waiting_for_hour(zone) for zone in judged["zones"]]
    about, day = _about(place), conditions.on.date().isoformat()
    load = load_of(path, property_name, judged, asked.load, overrides=overrides)
    origin = _middle(place)
    plane = LocalPlane(*origin)
    tasks, task = _tasks(path, asked.product)
    return VisitPlan(
        property=property_name,
        client=as_text(about.get("client")),
        address=as_text(about.get("address")),
        state=as_text(about.get("state")),
        on=conditions.on.isoformat(timespec="minutes") if asked.knows_hour else day,
        product=asked.product or "",
        origin=origin,
        surveyed_on=_surveyed_on(about, on=day),
        weather=weather_words(judged["given"]),
        zones=_zones(place, judged, load.amounts, plane),
        no_spray=list(_no_spray(place, plane)),
        things=list(_things(path, place, plane)),
        load=load.load,
        load_faults=load.faults,
        label=label_words(judged["label"]),
        tasks=tasks,
        task=task,
        posting=[*judged["posting"], judged["keep_off"], *judged["school"]],
        cautions=_of_property(
            property_name, [judged["wind_words"], *judged["cautions"], *load.cautions]
        ),
    )


def _judged(
    path: Path, property_name: str, asked: PlanAsked, place: Place, *, overrides: Overrides
) -> dict[str, Any]:
    """Return a result of `turfmap.desk.check.check`; without a product everything waits."""
    if asked.product is not None:
        wanted = CheckAsked(
            property_name,
            asked.product,
            asked.conditions,
            weather_file=asked.weather_file,
            forecast_file=asked.forecast_file,
        )
        return check(path, wanted, overrides=overrides)
    result, _ = measured(place)
    waits = {"answer": "wait", "reasons": [NO_PRODUCT], "would_change": [], "mind": []}
    return {
        "product": None,
        "on": asked.conditions.day,
        "given": {},
        "zones": [zone | waits | {"asked": [], "sources": []} for zone in result["zones"]],
        "posting": [],
        "keep_off": "Keep people and pets off as long as the label says.",
        "school": [],
        "label": {},
        "wind_words": "Distances that hold downwind only are kept all round.",
        "cautions": result["cautions"],
    }


def _of_property(name: str, lines: Sequence[str]) -> list[str]:
    """Return each line once, without the property's name before it: the page is of that alone."""
    return list(dict.fromkeys(line.removeprefix(f"{name} / ") for line in lines))


def _waiting_for_hour(zone: dict[str, Any]) -> dict[str, Any]:
    if zone["answer"] == "no":
        return zone
    return zone | {"answer": "wait", "reasons": [NO_HOUR, *zone["reasons"]]}


def _about(place: Place) -> Row:
    rows = place.properties.drop(columns="geometry").astype(object).to_dict("records")
    return rows[0] if rows else {}


def _surveyed_on(about: Row, *, on: str) -> str:
    """Return when somebody looked; a day to come tells nothing, and one long past no more."""
    looked_on = as_text(about.get("water_surveyed_on"))[:10]
    if not looked_on:
        return ""
    looked, day = (iso_date(text, record="water_surveyed_on") for text in (looked_on, on))
    return looked_on if survey_counts(looked, day, lasts_d=survey_lasts_d()) else ""


def _middle(place: Place) -> tuple[float, float]:
    grounds = np.concatenate([shapes_of(place.properties), shapes_of(place.zones)])
    west, south, east, north = shapely.total_bounds(grounds)
    if not np.isfinite(west):
        raise input_fault("nothing of this property is drawn", "draw its zones first")
    return float((west + east) / 2.0), float((south + north) / 2.0)


def _flat(shape: BaseGeometry | None, plane: LocalPlane) -> BaseGeometry:
    if shape is None:
        return shapely.Polygon()
    return shapely.transform(shape, lambda lonlat: plane.flat(np.asarray(lonlat)))


def _zones(
    place: Place, judged: Mapping[str, Any], amounts: Mapping[str, str], plane: LocalPlane
) -> list[PlanZone]:
    grasses = {row["species"]: row["words"] for row in table("turf_species").rows}
    ranks = np.nan_to_num(rank_of(place.zones), posinf=99.0)
    found = zip(judged["zones"], place.zones.itertuples(), ranks, strict=True)
    return [
        PlanZone(
            name=zone["zone"],
            kind=as_text(zone["kind"]),
            species_words=grasses.get(as_text(row.species), ""),
            geometry=_flat(row.geometry, plane),
            area=zone,
            answer=zone["answer"],
            reasons=list(dict.fromkeys([*zone["reasons"], *zone["asked"]])),
            changes=zone["would_change"],
            minds=zone["mind"],
            sources=zone["sources"],
            amount=amounts.get(zone["zone"], ""),
            rank=int(rank),
        )
        for zone, row, rank in found
    ]


def _no_spray(place: Place, plane: LocalPlane) -> Iterator[PlanNoSpray]:
    things = place.protected_things()
    ground = no_spray_ground(things.shapes, things.radius_m)
    drawn = place.drawn if isinstance(place, PlaceInWind) else np.full(len(ground), None)
    rows = place.protected.to_dict("records")
    for row, shape, downwind in zip(rows, ground, drawn, strict=True):
        if shape is None or shape.is_empty:
            continue
        yield PlanNoSpray(
            category=as_text(row["category"]),
            name=as_text(row["name"]),
            distance_m=float(row["distance_m"]),
            margin_m=float(row["margin_m"]),
            downwind_only=downwind is not None,
            geometry=_flat(shape, plane),
        )


def _things(path: Path, place: Place, plane: LocalPlane) -> Iterator[PlanThing]:
    """Return what is drawn besides zones and no-spray ground, of this property alone."""
    yield from _of_frame("property", place.properties, plane)
    protected = set(zip(place.protected["layer"], place.protected["fid"], strict=True))
    for layer in ("water", "sensitive_site"):
        frame = geopackage.read_layer(path, layer).to_crs(LON_LAT)
        mine = np.array([(layer, fid) in protected for fid in frame["fid"]], dtype=bool)
        yield from _of_frame(layer, frame[mine], plane)
    grounds = [*shapes_of(place.properties), *shapes_of(place.zones)]
    beside = shapely.buffer(shapely.union_all(grounds), BESIDE_M / METRES_PER_DEGREE)
    for layer in OTHER_LAYERS:
        frame = geopackage.read_layer(path, layer).to_crs(LON_LAT)
        yield from _of_frame(layer, frame[shapely.intersects(shapes_of(frame), beside)], plane)


def _of_frame(layer: str, frame: gpd.GeoDataFrame, plane: LocalPlane) -> Iterator[PlanThing]:
    present = frame[is_present(shapes_of(frame))]
    rows = present.drop(columns="geometry").astype(object).to_dict("records")
    for row, shape in zip(rows, shapes_of(present), strict=True):
        notes = "" if layer == "property" else as_text(row.get("notes"))
        name, kind = as_text(row["name"]), as_text(row.get("kind"))
        yield PlanThing(layer, name, kind, notes, _flat(shape, plane))


def _tasks(path: Path, product: str | None) -> tuple[Sequence[str], str]:
    """Return tasks, those that the product serves first, and the only one that it serves."""
    row = find_product(path, product) if product is not None else None
    actives = split(row["active_ingredients"] or "") if row is not None else (product,)
    serves = {one["task"] for one in table("choice").rows if one["active_ingredient"] in actives}
    everything = [one["task"] for one in table("task").rows]
    first = [task for task in everything if task in serves]
    return [*first, *(task for task in everything if task not in serves)], (
        first[0] if len(first) == 1 else ""
    )
