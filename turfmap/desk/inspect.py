"""What is odd about the zones of a place and its property lines: listed, and where it is."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import shapely

from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.map import title_of
from turfmap.desk.place import LON_LAT, rank_of, with_property
from turfmap.foundations import plane
from turfmap.foundations.errors import input_fault
from turfmap.foundations.shapes import Repair, Shapes, is_present, repaired, shape_array
from turfmap.foundations.units import square_feet
from turfmap.ground.inspection import Oddity, oddities, shared_lines
from turfmap.store import geopackage
from turfmap.store.geojson import write_geojson
from turfmap.store.written_files import HTML_MARK, write_whole
from turfmap.views.odd_page import OddContent, OddThing, PlainZone, odd_page

WORDS = {
    "broken": "broken shape",
    "broken_line": "broken property line",
    "shared_line": "in two properties",
    "no_ground": "no ground",
    "repeated_corners": "repeated corners",
    "sliver": "sliver",
    "overlap": "drawn twice",
    "over_the_line": "over the property line",
    "gap": "gap between zones",
}

# What each means for the work, and what to do.
PLAIN = {
    "broken": "It was mended for measuring only; draw it again, so that it is as you mean it.",
    "broken_line": "It was mended to tell which zones lie in it; draw it again, so that it is as "
    "you mean it.",
    "shared_line": "Two property lines have this ground, so two people answer for it. See which of "
    "them is drawn wrong before anybody treats it.",
    "no_ground": "It is not measured and nothing is due on it. Draw it, or remove it.",
    "repeated_corners": "Areas are right all the same. Remove the corners when you next edit it.",
    "sliver": "Too thin to treat: most often left over from drawing. Join it to its neighbour.",
    "overlap": "Two zones have this ground. It counts for one of them only, so that it is never "
    "treated twice. Move one of the edges.",
    "over_the_line": "This part lies outside the line of its own property. See which of the two "
    "is drawn wrong before anybody treats it.",
    "gap": "This ground lies between zones and belongs to none, so nothing is due on it. Move one "
    "of the edges, unless it is meant.",
}


@dataclass(frozen=True)
class Found:
    """What was looked at and what was found, before it is written down."""

    path: Path
    properties: gpd.GeoDataFrame
    zones: gpd.GeoDataFrame
    odd: list[Oddity]
    rows: list[dict[str, Any]]


def inspect(path: Path, *, out: Path | None) -> dict[str, Any]:
    """Look at every zone of a place.

    Parameters
    ----------
    path
        The place; it is not changed.
    out
        Where to write what was found, or None: ``.geojson`` for its shapes, ``.html`` for a page
        that shows them on the zones.

    Returns
    -------
    dict
        ``zones`` looked at, and ``oddities``: property, zone (empty where it is about the property
        line), problem, words, area.

    Raises
    ------
    InputFaultsError
        If `out` has another ending, or a file cannot be read or written.
    """
    write = None if out is None else _writer(out)
    found = _found(path)
    if out is not None and write is not None:
        write(out, found)
    count = len(found.zones)
    return {"zones": count, "oddities": found.rows, "out": None if out is None else str(out)}


def _writer(out: Path) -> Callable[[Path, Found], None]:
    writers = {".geojson": _write_shapes, ".html": _write_page}
    if out.suffix.lower() not in writers:
        raise input_fault(
            f"{out.suffix or 'no ending'} is not an ending that this can write",
            "end its name in .html for a page, or in .geojson for shapes",
            file=str(out),
        )
    return writers[out.suffix.lower()]


def _write_shapes(out: Path, found: Found) -> None:
    write_geojson(out, shape_array([one.shape for one in found.odd]), found.rows)


def _write_page(out: Path, found: Found) -> None:
    lines, zones = shapes_of(found.properties), found.zones
    named = zip(zones["property"], zones["name"], shapes_of(zones), strict=True)
    content = OddContent(
        title=title_of(found.path, found.properties["name"]),
        zones=[PlainZone(str(of or ""), str(name), shape) for of, name, shape in named],
        properties=list(lines[is_present(lines)]),
        odd=[
            OddThing(
                problem_words=row["problem_words"],
                property=str(row["property"] or ""),
                zone=str(row["zone"] or "property line"),
                words=row["words"],
                plain=PLAIN[row["problem"]],
                area_m2=row["area_m2"],
                geometry=one.shape,
            )
            for one, row in zip(found.odd, found.rows, strict=True)
        ],
    )
    write_whole(out, odd_page(content), mark=HTML_MARK, endings=(".html",))


def _found(path: Path) -> Found:
    properties = geopackage.read_layer(path, "property").to_crs(LON_LAT)
    outlines, repairs = repaired(shapes_of(properties))
    drawn = geopackage.read_layer(path, "zone").to_crs(LON_LAT)
    mended, _ = repaired(shapes_of(drawn))
    zones = with_property(drawn.set_geometry(gpd.GeoSeries(mended, crs=LON_LAT)), properties)
    place = {name: index for index, name in enumerate(properties["name"])}
    owner = np.array([place.get(name, -1) for name in zones["property"]], dtype=np.int64)
    found = oddities(shapes_of(drawn), rank_of(zones), owner, outlines)
    lines = _broken_lines(outlines, repairs)
    rows = [
        _row(one, properties["name"].iloc[repair.index], "", one.words)
        for one, repair in zip(lines, repairs, strict=True)
    ]
    shared = shared_lines(outlines)
    names = properties["name"]
    rows += [
        _row(one, names.iloc[one.zone], "", f"it is shared with {names.iloc[one.other]}")
        for one in shared
    ]
    rows += [_zone_row(one, zones) for one in found]
    return Found(path, properties, zones, [*lines, *shared, *found], rows)


def _broken_lines(outlines: Shapes, repairs: Sequence[Repair]) -> list[Oddity]:
    """Return what was mended of property lines, with the ground that they hold when mended."""
    where = [repair.index for repair in repairs]
    mended = outlines[where]
    origins = np.nan_to_num(plane.origins(plane.bounds(mended)))
    areas_m2 = shapely.area(plane.flatten(mended, origins))
    return [
        Oddity("broken_line", -1, -1, float(area_m2), repair.problem, shape)
        for repair, area_m2, shape in zip(repairs, areas_m2, mended, strict=True)
    ]


def _zone_row(one: Oddity, zones: gpd.GeoDataFrame) -> dict[str, Any]:
    zone = zones.iloc[one.zone]
    words = one.words
    if one.other >= 0:
        keeper = zones.iloc[one.other]
        words = f"the shared ground counts for {keeper['property']} / {keeper['name']}"
    return _row(one, zone["property"], zone["name"], words)


def _row(one: Oddity, property_name: str, zone_name: str, words: str) -> dict[str, Any]:
    return {
        "property": property_name,
        "zone": zone_name,
        "problem": one.problem,
        "problem_words": WORDS[one.problem],
        "words": words,
        "area_m2": one.area_m2,
        "area_sqft": square_feet(one.area_m2),
    }
