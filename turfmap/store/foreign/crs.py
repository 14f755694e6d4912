"""Coordinates of any reference system to longitude and latitude, and how well that can be done.

Longitude always comes first, whatever order a system's register entry names.
"""

import warnings
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from pyproj import CRS, Transformer
from pyproj.aoi import AreaOfInterest
from pyproj.exceptions import ProjError
from pyproj.transformer import TransformerGroup

from turfmap.foundations.errors import input_fault

LONLAT = CRS.from_authority("OGC", "CRS84")
MEND = "give it with --crs EPSG:nnnn"
# A datum nobody names can lie this far off: the widest common shift to WGS 84 is of this size
# (old island and Asian datums; from memory, not read).
UNKNOWN_DATUM_M = 500.0
# Straight edges stay straight in the file's own system; past this length they would bend aside
# by more than 3 mm in longitude and latitude (L² tan(lat) / 8R at 45°; derived).
LONGEST_EDGE_M = 500.0
MOST_CUTS = 10_000  # cuts in one shape; an outline of 5000 km is no lawn and is left as it is
NEAR_DEGREES = 1.0  # how far beyond a system's area a place may lie without a word


def named_crs(text: str) -> CRS:
    """Return the system a person or a file names: "EPSG:2240", "2240" or WKT.

    Raises
    ------
    InputFaultsError
        If it is no system we know, or no system of places on the Earth's map.
    """
    asked = text.strip()
    try:
        crs = CRS.from_user_input(f"EPSG:{asked}" if asked.isdigit() else asked)
        crs = crs.sub_crs_list[0] if crs.is_compound else crs.to_2d()
    except ProjError as error:
        raise input_fault(f"no coordinate reference system is called {asked[:60]!r}", MEND) from (
            error
        )
    if not (crs.is_geographic or crs.is_projected):
        raise input_fault(f"{crs.name[:60]!r} is not a system of map coordinates", MEND)
    code = crs.to_epsg()
    return CRS.from_epsg(code) if code else crs


def called(crs: CRS) -> str:
    """Return the system's name and code for a sentence."""
    code = crs.to_epsg()
    return f"{crs.name} (EPSG:{code})" if code else crs.name


def is_lonlat(crs: CRS) -> bool:
    """Tell whether coordinates are WGS 84 longitude and latitude already."""
    return crs.to_epsg() == 4326 or crs.to_authority() == ("OGC", "CRS84")


def convert(geometries: NDArray[np.object_], source: CRS) -> tuple[NDArray[np.object_], str | None]:
    """Return the geometries in EPSG:4326, longitude first, and the sentence that goes with it.

    Parameters
    ----------
    geometries
        2D shapes (or None) with finite coordinates in `source`, x or longitude first.
    source
        Their system, as `named_crs` returns it.

    Returns
    -------
    geometries, note
        The converted shapes (coordinates that cannot be converted are infinite), and the accuracy
        of the best way PROJ has here [m]. The note begins "Warning:" if the datums are only
        assumed to agree, a better way lacks its grid, or the places lie outside the system's area;
        it is None if nothing had to be done.
    """
    if is_lonlat(source):
        return geometries, None
    rough = _rough_bounds(geometries, source)
    group = _ways(source, rough)
    best = group.transformers[0]
    cut = _cut_long_edges(geometries, source)
    coordinates = np.column_stack(best.transform(*shapely.get_coordinates(cut).T))
    return shapely.set_coordinates(cut, coordinates), _note(source, group, rough)


def _ways(source: CRS, rough: tuple[float, ...] | None) -> TransformerGroup:
    area: Any = AreaOfInterest(*rough) if rough else None
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # a missing grid: our note says it better
        group = TransformerGroup(source, CRS.from_epsg(4326), True, area)  # always_xy
    if not group.transformers:
        raise input_fault(f"{called(source)} cannot be converted to WGS 84", MEND)
    return group


def _rough_bounds(
    geometries: NDArray[np.object_], source: CRS
) -> tuple[float, float, float, float] | None:
    """Return about where the shapes lie: west, south, east, north [degrees]."""
    west, south, east, north = shapely.total_bounds(geometries)
    to_degrees = Transformer.from_crs(source, LONLAT, always_xy=True)
    lons, lats = to_degrees.transform([west, west, east, east], [south, north, south, north])
    if not (np.isfinite(lons).all() and np.isfinite(lats).all()):
        return None
    bounds = min(lons), min(lats), max(lons), max(lats)
    sane = -180 <= bounds[0] <= bounds[2] <= 180 and -90 <= bounds[1] <= bounds[3] <= 90
    return bounds if sane else None


def _cut_long_edges(geometries: NDArray[np.object_], source: CRS) -> NDArray[np.object_]:
    if not source.is_projected:
        return geometries.copy()
    longest = LONGEST_EDGE_M / source.axis_info[0].unit_conversion_factor
    lengths = shapely.length(geometries)
    cut = geometries.copy()
    chosen = (lengths > longest) & (lengths < longest * MOST_CUTS)
    cut[chosen] = shapely.segmentize(geometries[chosen], longest)
    return cut


def _note(source: CRS, group: TransformerGroup, rough: tuple[float, ...] | None) -> str:
    said, is_warning = _accuracy(group)
    note = f"Converted from {called(source)} to WGS 84 longitude and latitude; {said}."
    outside = _outside(source, rough)
    if outside:
        note += f" The places lie outside the area that system is for ({outside}): check it."
    return f"Warning: {note}" if is_warning or outside else note


def _accuracy(group: TransformerGroup) -> tuple[str, bool]:
    best = group.transformers[0]
    if "ballpark" in best.description.lower() or best.accuracy < 0:
        return (
            "how its datum lies to WGS 84 is not known, so places may be off by"
            f" up to about {UNKNOWN_DATUM_M:.0f} m"
        ), True
    if best.accuracy == 0:
        return "the conversion itself loses nothing (0 m)", False
    better = [way for way in group.unavailable_operations if 0 <= way.accuracy < best.accuracy]
    if not better:
        return f"accurate to {best.accuracy:g} m", False
    first = min(better, key=lambda way: way.accuracy)
    grids = " and ".join(grid.short_name for grid in first.grids if not grid.available)
    return (
        f"accurate to {best.accuracy:g} m"
        f" ({first.accuracy:g} m would need the grid {grids}, which is not here)"
    ), True


def _outside(source: CRS, rough: tuple[float, ...] | None) -> str:
    """Return the name of the system's area if the middle of the shapes lies outside it."""
    area = source.area_of_use
    if area is None:
        return ""
    if rough is None:
        return str(area.name[:60])
    lon, lat = (rough[0] + rough[2]) / 2, (rough[1] + rough[3]) / 2
    east_of_west = (lon - area.west + NEAR_DEGREES) % 360  # an area may cross the antimeridian
    width = (area.east - area.west) % 360 or 360
    inside_lat = area.south - NEAR_DEGREES <= lat <= area.north + NEAR_DEGREES
    inside = inside_lat and east_of_west <= width + 2 * NEAR_DEGREES
    return "" if inside else str(area.name[:60])
