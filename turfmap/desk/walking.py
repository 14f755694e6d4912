"""A walk along an edge, recorded by a GPS receiver: an area where it comes back, else a line."""

import tempfile
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from turfmap.desk.edit_faults import plain_geometry, refused
from turfmap.foundations import plane
from turfmap.foundations.definitions import table
from turfmap.foundations.errors import InputFaultsError
from turfmap.foundations.shapes import repaired, shape_array
from turfmap.foundations.units import METRES_PER_FOOT, distance_words
from turfmap.store.foreign.reading import read_foreign

MOST_CHARACTERS = 2_000_000
# Ends this near, or this near for how long the walk is, are one place: somebody walked round.
# (Common practice, no source: a hand-held receiver's error.)
MEETS_M = 3.0
MEETS_SHARE = 0.05
# Steps aside of less than this are the receiver's play and not the edge's: a tenth of its error.
JITTER_M = 1.0 * METRES_PER_FOOT
KNOWN_BY = "gps"


def walk(text: str) -> dict[str, Any]:
    """Turn a recorded walk into a shape to be drawn.

    Parameters
    ----------
    text
        GPX 1.0 or 1.1; its longest track or route counts.

    Returns
    -------
    dict
        ``shape``, a GeoJSON polygon or line; ``edge_known_by`` and ``position_margin_m``, how far
        the edge may be from the true one; ``dropped``, how many corners were left out; ``notes``.

    Raises
    ------
    RefusedError
        If it is no GPX, or holds no walk.
    """
    line, notes = _longest(_lines(text))
    origin = plane.origins(plane.bounds(shape_array(line)))
    flat = plane.flatten(shape_array(line), origin)[0]
    corners = shapely.get_coordinates(flat)
    gap_m = float(np.hypot(*(corners[-1] - corners[0])))
    comes_back = gap_m <= max(MEETS_M, MEETS_SHARE * float(shapely.length(flat)))
    shape = shapely.Polygon(corners) if comes_back and len(corners) > 3 else flat
    plain = shapely.simplify(shape, JITTER_M)
    if shapely.is_empty(plain) or not shapely.is_valid(plain):
        plain = shape
    dropped = shapely.get_num_coordinates(shape) - shapely.get_num_coordinates(plain)
    (sound,), repairs = repaired(shape_array(plain))
    if shapely.is_empty(sound):
        raise refused("the walk encloses no ground", "walk round the edge again")
    notes += _told(shape, gap_m, int(dropped), bool(repairs))
    margin_m = table("edge_known_by").by("edge_known_by")[KNOWN_BY]["position_margin_m"]
    return {
        "shape": plain_geometry(plane.unflatten(shape_array(sound), origin)[0]),
        "edge_known_by": KNOWN_BY,
        "position_margin_m": margin_m,
        "dropped": int(dropped),
        "notes": notes,
    }


def _lines(text: str) -> list[shapely.Geometry]:
    """Return the tracks and routes of a GPX text, read as every foreign file is."""
    if len(text) > MOST_CHARACTERS:
        raise refused("the recording is too long", "record the edge alone")
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "walk.gpx"
        file.write_text(text, encoding="utf-8", errors="replace")
        try:
            found = read_foreign(file)
        except InputFaultsError as error:
            said = error.faults[0]
            raise refused(said.problem, said.mend) from None
    shapes = found.geometries[~shapely.is_missing(found.geometries)]
    lines = [_as_line(part) for part in shapely.get_parts(shapes)]
    return [line for line in lines if line is not None]


def _as_line(shape: shapely.Geometry) -> shapely.Geometry | None:
    """Return a walk as it was walked: what closes has been made an area by the reader."""
    kind = shapely.get_type_id(shape)
    if kind == shapely.GeometryType.POLYGON:
        return shapely.LineString(shapely.get_coordinates(shapely.get_exterior_ring(shape)))
    return shape if kind == shapely.GeometryType.LINESTRING else None


def _longest(lines: list[shapely.Geometry]) -> tuple[shapely.Geometry, list[str]]:
    walked = [line for line in lines if shapely.length(line) > 0.0]
    if not walked:
        raise refused("it holds no track or route", "record the walk as a track")
    longest = max(walked, key=lambda line: float(shapely.length(line)))
    more = len(walked) - 1
    return longest, [f"{more} shorter tracks were left out."] if more else []


def _told(shape: shapely.Geometry, gap_m: float, dropped: int, was_mended: bool) -> list[str]:
    is_ring = shapely.get_type_id(shape) == shapely.GeometryType.POLYGON
    notes = [
        f"Its ends are {distance_words(gap_m)} apart, so it is taken as"
        f" {'the edge of an area' if is_ring else 'a line'}."
    ]
    if dropped:
        notes.append(
            f"{dropped:,} corners were left out: without them no edge moves by more than"
            f" {distance_words(JITTER_M)}."
        )
    if was_mended:
        notes.append("It crossed itself; what it goes round was kept. Look at it before you save.")
    return notes
