"""What is odd about the zones of a place: listed, and where it is."""

from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np

from turfmap.desk.place import LON_LAT, rank_of, shapes_of, with_property
from turfmap.foundations.shapes import repaired, shape_array
from turfmap.foundations.units import square_feet
from turfmap.ground.inspection import Oddity, oddities
from turfmap.store import geopackage
from turfmap.store.geojson import write_geojson

WORDS = {
    "broken": "broken shape",
    "no_ground": "no ground",
    "repeated_corners": "repeated corners",
    "sliver": "sliver",
    "overlap": "drawn twice",
    "over_the_line": "over the property line",
    "gap": "gap between zones",
}


def inspect(path: Path, *, out: Path | None) -> dict[str, Any]:
    """Look at every zone of a place.

    Parameters
    ----------
    path
        The place; it is not changed.
    out
        A GeoJSON file for the shapes of what was found, or None.

    Returns
    -------
    dict
        ``zones`` looked at, and ``oddities``: property, zone, problem, words, area.
    """
    properties = geopackage.read_layer(path, "property").to_crs(LON_LAT)
    outlines, _ = repaired(shapes_of(properties))
    drawn = geopackage.read_layer(path, "zone").to_crs(LON_LAT)
    mended, _ = repaired(shapes_of(drawn))
    zones = with_property(drawn.set_geometry(gpd.GeoSeries(mended, crs=LON_LAT)), properties)
    place = {name: index for index, name in enumerate(properties["name"])}
    owner = np.array([place.get(name, -1) for name in zones["property"]], dtype=np.int64)
    found = oddities(shapes_of(drawn), rank_of(zones), owner, outlines)
    rows = [_row(one, zones) for one in found]
    if out is not None:
        write_geojson(out, shape_array([one.shape for one in found]), rows)
    return {"zones": len(zones), "oddities": rows, "out": None if out is None else str(out)}


def _row(one: Oddity, zones: gpd.GeoDataFrame) -> dict[str, Any]:
    zone = zones.iloc[one.zone]
    words = one.words
    if one.other >= 0:
        keeper = zones.iloc[one.other]
        words = f"the shared ground counts for {keeper['property']} / {keeper['name']}"
    return {
        "property": zone["property"],
        "zone": zone["name"],
        "problem": one.problem,
        "problem_words": WORDS[one.problem],
        "words": words,
        "area_m2": one.area_m2,
        "area_sqft": square_feet(one.area_m2),
    }
