"""The properties that crews drive to: where each is, when nobody may come, gates and notes."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import shapely

from turfmap.days.plan.no_go import closed_hours
from turfmap.days.plan.problem import Closed
from turfmap.days.plan.works import Site
from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.place import with_property
from turfmap.foundations.errors import Fault, InputFaultsError
from turfmap.foundations.units import feet
from turfmap.store import geopackage

LON_LAT = "EPSG:4326"
# A gate stands on the line: so much play [deg], about half a metre.
GATE_PLAY_DEG = 5e-6
Words = dict[str, str | None]


@dataclass(frozen=True)
class Sites:
    """Properties by name, and the slope class of zones by property and name."""

    sites: Mapping[str, Site]
    slopes: Mapping[tuple[str, str], str]


def read_sites(path: Path) -> Sites:
    """Return every property with a zone that has a shape.

    Raises
    ------
    InputFaultsError
        With one fault for each property of which it is not understood when nobody may come.
    """
    properties = _lon_lat(geopackage.read_layer(path, "property"))
    zones = with_property(_lon_lat(geopackage.read_layer(path, "zone")), properties)
    rows = {row["name"]: row for row in properties.to_dict("records")}
    gates = _gates(path, properties)
    sites: dict[str, Site] = {}
    faults: list[Fault] = []
    for name, (longitude, latitude) in _middles(zones).items():
        row = rows.get(name, {})
        try:
            closed = closed_hours(_word(row, "no_go"), record=f"property {name}, no_go")
        except InputFaultsError as error:
            faults += [Fault(str(path), one.record, one.problem, one.mend) for one in error.faults]
        else:
            sites[name] = _site(name, (longitude, latitude), closed, row, gates.get(name, []))
    if faults:
        raise InputFaultsError(faults)
    slopes = {
        (zone["property"], zone["name"]): zone["slope"]
        for zone in zones[["property", "name", "slope"]].to_dict("records")
        if _word(zone, "slope")
    }
    return Sites(sites, slopes)


def _site(
    name: str,
    at: tuple[float, float],
    closed: tuple[Closed, ...],
    row: Mapping[Any, Any],
    gates: list[str],
) -> Site:
    keys = ("contact", "notes", "address", "client", "no_go")
    words: dict[str, Any] = {key: _word(row, key) or "" for key in keys}
    priority = int(row["priority"]) if _word(row, "priority") else 2
    return Site(name, *at, closed, priority, words | {"gates": gates})


def _middles(zones: gpd.GeoDataFrame) -> dict[str, tuple[float, float]]:
    """Return longitude and latitude amid the zones of each property [deg]."""
    middles = shapely.get_coordinates(shapely.centroid(shapes_of(zones)))
    has_shape = ~(zones.geometry.is_empty | zones.geometry.isna()).to_numpy()
    places: dict[str, list[Any]] = {}
    for name, place in zip(zones["property"].to_numpy()[has_shape], middles, strict=True):
        places.setdefault(str(name), []).append(place)
    means = {name: np.mean(mine, axis=0) for name, mine in places.items()}
    return {name: (float(mean[0]), float(mean[1])) for name, mean in means.items()}


def _word(row: Mapping[Any, Any], key: str) -> str | None:
    """Return what a column says; None where it is empty, NaN among them."""
    value = row.get(key)
    is_nothing = value is None or (isinstance(value, float) and np.isnan(value))
    return None if is_nothing else str(value)


def _lon_lat(frame: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    return frame if frame.crs is None or frame.crs == LON_LAT else frame.to_crs(LON_LAT)


def _gates(path: Path, properties: gpd.GeoDataFrame) -> dict[str, list[str]]:
    """Return the gates of each property, in words."""
    gates = _lon_lat(geopackage.read_layer(path, "gate"))
    names, places = properties["name"].tolist(), shapes_of(properties)
    found: dict[str, list[str]] = {}
    for row, point in zip(gates.to_dict("records"), shapes_of(gates), strict=True):
        if point is None or point.is_empty:
            continue
        width = f", {feet(row['width_m']):.1f} ft wide" if _word(row, "width_m") else ""
        notes = f": {_word(row, 'notes')}" if _word(row, "notes") else ""
        for number in np.flatnonzero(shapely.distance(places, point) < GATE_PLAY_DEG):
            found.setdefault(names[number], []).append(f"{row['name']}{width}{notes}")
    return found
