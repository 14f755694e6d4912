"""The one-file map: zones by what is due, no-spray ground with its causes."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from turfmap.desk.area import measured
from turfmap.desk.bed_plants import inventory
from turfmap.desk.due import due
from turfmap.desk.due_weeks import due_weeks
from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.map_measures import measured_words, overlays_on
from turfmap.desk.place import LON_LAT, Place, read_place
from turfmap.desk.protected import Overrides
from turfmap.desk.slope import SlopeAsked, slopes_of
from turfmap.foundations.definitions import table
from turfmap.foundations.shapes import is_present
from turfmap.ground.nospray import no_spray_ground
from turfmap.store import geopackage
from turfmap.store.written_files import HTML_MARK, write_whole
from turfmap.views.map_page import MapContent, MapNoSpray, MapThing, MapWeeks, MapZone, map_page

# What lies farther off is left out of the map of one property. No-spray ground is judged by its
# own reach: what comes nearer than this stays, however far off its cause is.
NEAR_M = 150.0
METRES_PER_DEGREE = 111_000.0  # of latitude, near enough for a box
EVERYWHERE = shapely.box(-180.0, -90.0, 180.0, 90.0)

# What is drawn besides zones and no-spray ground, and the table that has words for its kinds.
THINGS = {
    "property": None,
    "water": "water_kind",
    "sensitive_site": "sensitive_kind",
    "obstacle": "obstacle_kind",
    "canopy": None,
    "gate": None,
}


@dataclass(frozen=True)
class GroundAsked:
    """How the ground of a map is measured.

    Attributes
    ----------
    product, overrides
        As for areas: what will be applied, and distances for this map.
    slope
        A raster to measure slopes on for this map; None: as the place keeps them.
    """

    product: str | None = None
    overrides: Overrides | None = None
    slope: SlopeAsked | None = None


AS_KEPT = GroundAsked()


def map_file(
    path: Path,
    *,
    as_of: date,
    out: Path,
    weather_file: Path | None = None,
    property_name: str | None = None,
    asked: GroundAsked = AS_KEPT,
) -> dict[str, Any]:
    """Write the map of a place, or of one of its properties, as one HTML file.

    Raises
    ------
    InputFaultsError
        If something in the place, the weather file or the raster needs mending, or the map cannot
        be written.
    """
    place = read_place(
        path,
        property_name=property_name,
        product=asked.product,
        overrides=asked.overrides or Overrides({}),
    )
    areas, found = measured(place)
    if asked.slope is not None:
        areas = slopes_of(path, place, (areas, found), asked.slope)
    overlays, said = overlays_on(path, place, asked.slope)
    judged, weeks = (
        work(path, as_of=as_of, weather_file=weather_file, property_name=property_name)
        for work in (due, due_weeks)
    )
    plants = inventory(path, as_of=as_of, property_name=property_name)
    told = measured_words(place, areas)
    around = EVERYWHERE if property_name is None else _around(place)
    content = MapContent(
        title=title_of(path, place.properties["name"]),
        as_of=as_of,
        zones=[
            replace(
                zone,
                plants=plants.get((zone.property, zone.name), ()),
                measured=told.get((zone.property, zone.name), ()),
            )
            for zone in _zones(place, areas, judged, weeks)
        ],
        no_spray=[one for one in no_spray_of(place) if around.intersects(one.geometry)],
        things=[one for one in things_of(path, property_name) if around.intersects(one.geometry)],
        cautions=list(
            dict.fromkeys([*areas["cautions"], *said, *judged["cautions"], *weeks["cautions"]])
        ),
        weeks=_map_weeks(weeks),
        overlays=overlays,
    )
    write_whole(out, map_page(content), mark=HTML_MARK, endings=(".html",))
    return {
        "out": str(out),
        "zones": len(content.zones),
        "overlays": len(overlays.pictures),
        "cautions": list(content.cautions),
    }


def title_of(path: Path, properties: Iterable[str]) -> str:
    """Return what a page about a place is called: its only property's name, or the file's."""
    names = list(properties)
    if len(names) == 1 and names[0]:
        return str(names[0])
    stem = " ".join(path.stem.replace("_", " ").split()) or path.name
    stem = stem[0].upper() + stem[1:]
    return f"{stem}: {len(names):,} properties" if names else stem


def _around(place: Place) -> BaseGeometry:
    """Return the box of a property and what is near: its map is no business of other clients."""
    grounds = [*shapes_of(place.properties), *shapes_of(place.zones)]
    west, south, east, north = shapely.total_bounds(grounds)
    if not np.isfinite(west):
        return EVERYWHERE
    up = NEAR_M / METRES_PER_DEGREE
    along = up / np.cos(np.radians(south))
    near: BaseGeometry = shapely.box(west - along, south - up, east + along, north + up)
    return near


def _map_weeks(weeks: dict[str, Any]) -> MapWeeks:
    return MapWeeks(
        days=[date.fromisoformat(day) for day in weeks["days"]],
        states=weeks["states"],
        tasks=weeks["tasks"],
        patterns=weeks["patterns"],
    )


def _zones(
    place: Place, areas: dict[str, Any], judged: dict[str, Any], weeks: dict[str, Any]
) -> list[MapZone]:
    kinds, species = _words("zone_kind", "kind"), _words("turf_species", "species")
    tasks = {(zone["property"], zone["zone"]): zone["tasks"] for zone in judged["zones"]}
    patterns = {(zone["property"], zone["zone"]): zone["pattern"] for zone in weeks["zones"]}
    rows = zip(
        place.zones["property"],
        place.zones["name"],
        place.zones["kind"],
        place.zones["species"],
        shapes_of(place.zones),
        areas["zones"],
        strict=True,
    )
    return [
        MapZone(
            property=of,
            name=name,
            kind_words=kinds.get(kind, str(kind)),
            species_words=species.get(grass, "") if grass else "",
            geometry=shape,
            area=area | {"causes": _causes(area["causes"])},
            tasks=tasks.get((of, name), []),
            pattern=patterns.get((of, name), -1),
        )
        for of, name, kind, grass, shape, area in rows
        if shape is not None
    ]


def _causes(causes: list[dict[str, Any]]) -> list[dict[str, Any]]:
    kinds = _protected_words()
    return [
        cause | {"category_words": kinds.get(cause["category"], str(cause["category"]))}
        for cause in causes
    ]


def no_spray_of(place: Place) -> list[MapNoSpray]:
    """Return the no-spray ground of a place, one a protected feature, in its order."""
    kinds = _protected_words()
    things = place.protected_things()
    ground = no_spray_ground(things.shapes, things.radius_m)
    return [
        MapNoSpray(
            category_words=kinds.get(row["category"], str(row["category"])),
            name=row["name"],
            distance_m=row["distance_m"],
            margin_m=row["margin_m"],
            geometry=shape,
        )
        for row, shape in zip(place.protected.to_dict("records"), ground, strict=True)
        if shape is not None
    ]


def things_of(path: Path, property_name: str | None) -> list[MapThing]:
    """Return what else is drawn on a map, of each layer of `THINGS`."""
    things = []
    for layer, kind_table in THINGS.items():
        frame = _present(geopackage.read_layer(path, layer).to_crs(LON_LAT))
        if layer == "property" and property_name is not None:
            frame = frame[frame["name"] == property_name]
        words = _words(kind_table, "kind") if kind_table else {}
        kinds = frame["kind"] if kind_table else [""] * len(frame)
        things += [
            MapThing(layer, name, words.get(kind, str(kind or "")), shape)
            for name, kind, shape in zip(frame["name"], kinds, shapes_of(frame), strict=True)
        ]
    return things


def _present(frame: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    return frame[is_present(shapes_of(frame))]


def _protected_words() -> dict[str, str]:
    return _words("water_kind", "kind") | _words("sensitive_kind", "kind")


def _words(table_name: str, key: str) -> dict[str, str]:
    return {kind: row["words"] for kind, row in table(table_name).by(key).items()}
