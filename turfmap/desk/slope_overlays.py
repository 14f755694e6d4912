"""Pictures of steepness and relief of each property, from a raster of heights."""

from datetime import date

import numpy as np
import shapely

from turfmap.desk.overlays import MOST_PIXELS, Taken, grounds_of, overlay_of
from turfmap.desk.place import Place
from turfmap.foundations import plane
from turfmap.foundations.grid import VERTICAL_UNITS, Grid, grid_over
from turfmap.foundations.plane import Floats
from turfmap.ground.hillshade import ALTITUDE_DEG, AZIMUTH_DEG, hillshade
from turfmap.ground.map_pixels import Values, cells_of, coarser
from turfmap.ground.slope import horn_slope
from turfmap.store.raster_windows import Raster
from turfmap.views.map_overlays import MapOverlay

# Heights are read so many cells at a time each way.
BLOCK_CELLS = 1_022
# Larger ground is looked at on larger cells, which the picture then tells.
MOST_CELLS = 25_000_000


def slope_overlays(
    place: Place, raster: Raster, *, vertical_unit: str, resampling: str, taken: date | None
) -> list[MapOverlay]:
    """Return pictures of each property that the raster reaches: steepness, and relief under it.

    Parameters
    ----------
    place
        Whose zones and outlines are shown, and nobody else's ground.
    raster
        The bare ground's heights.
    vertical_unit, resampling
        What its heights are in, and how they are moved onto a plane.
    taken
        The day of the heights; None: as the file says.

    Raises
    ------
    InputFaultsError
        If the raster cannot be read.
    """
    if taken is None and raster.taken is not None:
        taken = date.fromisoformat(raster.taken)
    found = []
    for name, ground in grounds_of(place.zones, place.properties).items():
        (origin,) = plane.origins(np.array([shapely.bounds(ground)]))
        grid = _grid(raster, ground, origin)
        pictures, coarse = _looked_at(raster, grid, vertical_unit, resampling)
        for measure, method in METHODS.items():
            told = Taken(raster.name, taken, grid.cell_m, f"{method}, {resampling}")
            values = pictures[measure]
            found.append(overlay_of(measure, values, coarse, name=name, ground=ground, taken=told))
    return [one for one in found if one is not None]


METHODS = {
    "slope": "Rise over run by Horn 1981, 3 by 3 cells",
    "hillshade": f"Light from {AZIMUTH_DEG:.0f} degrees, {ALTITUDE_DEG:.0f} degrees high, by Horn"
    " 1981, 3 by 3 cells",
}


def _grid(raster: Raster, ground: shapely.Geometry, origin: Floats) -> Grid:
    (flat,) = plane.flatten(np.array([ground], dtype=object), origin[None])
    bounds_m = shapely.bounds(flat)
    cell_m = raster.cell_m(float(origin[0]), float(origin[1]))
    least_m = float(np.sqrt((bounds_m[2:] - bounds_m[:2]).prod() / MOST_CELLS))
    return grid_over(bounds_m, cell_m=max(cell_m, least_m), origin=origin)


def _looked_at(
    raster: Raster, grid: Grid, vertical_unit: str, resampling: str
) -> tuple[dict[str, Values], Grid]:
    """Return steepness [%] and light, block by block, on cells that a picture can show."""
    cells = cells_of(MOST_PIXELS, grid)
    empty = np.broadcast_to(np.float32(np.nan), (grid.rows, grid.columns))
    shape = -(-grid.rows // cells), -(-grid.columns // cells)
    whole = {measure: np.full(shape, np.nan, dtype=np.float32) for measure in METHODS}
    for block in grid.blocks(cells * max(BLOCK_CELLS // cells, 1)):
        (heights,) = raster.read(block.wider(1), [1], method=resampling)
        heights *= np.float32(VERTICAL_UNITS[vertical_unit])
        looks = {
            "slope": 100.0 * horn_slope(heights, block.cell_m),
            "hillshade": hillshade(heights, block.cell_m),
        }
        row = round((grid.north_m - block.north_m) / grid.cell_m) // cells
        column = round((block.west_m - grid.west_m) / grid.cell_m) // cells
        for measure, values in looks.items():
            part, _ = coarser(values, block, cells=cells)
            whole[measure][row : row + part.shape[0], column : column + part.shape[1]] = part
    return whole, coarser(empty, grid, cells=cells)[1]
