"""Pictures of the hours of sun of each property."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import shapely

from turfmap.desk.kept_measures import sun_method, sun_raster
from turfmap.desk.overlays import Taken, overlay_of
from turfmap.foundations.grid import Grid
from turfmap.foundations.plane import Floats
from turfmap.ground.map_pixels import Values
from turfmap.views.map_overlays import MapOverlay


@dataclass(frozen=True)
class HoursOfGround:
    """Hours of sun of a property, as far round as its zones go.

    Attributes
    ----------
    hours
        Hours a day of each cell, shape (cells.rows, cells.columns) [h]; NaN where unknown.
    cells
        Where they lie.
    bounds
        The box round the zones, shape (4,) [deg].
    """

    hours: Values
    cells: Grid
    bounds: Floats


def sun_overlays(
    found: Mapping[str, HoursOfGround],
    grounds: Mapping[str, shapely.Geometry],
    about: Mapping[str, Any],
) -> list[MapOverlay]:
    """Return a picture of each property of which hours are known.

    Parameters
    ----------
    found
        Hours by property.
    grounds
        What is shown of each, in EPSG:4326; beyond the box round its zones, shadows were not
        followed far enough.
    about
        Rasters, their day and the season, as `desk.sun` tells them.
    """
    day = date.fromisoformat(about["taken"]) if about["taken"] else None
    pictures = []
    for name, one in found.items():
        if name not in grounds:
            continue
        ground = shapely.intersection(grounds[name], shapely.box(*one.bounds))
        taken = Taken(sun_raster(about), day, one.cells.cell_m, sun_method(about))
        pictures.append(
            overlay_of("sun", one.hours, one.cells, name=name, ground=ground, taken=taken)
        )
    return [one for one in pictures if one is not None]
