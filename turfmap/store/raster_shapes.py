"""From cells to outlines: patches of a raster as polygons on the plane of its grid."""

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from turfmap.foundations.grid import Grid
from turfmap.foundations.shapes import Shapes, shape_array
from turfmap.store.raster_library import bounded, raster_library

Classes = NDArray[np.uint8]


def outlines(classes: Classes, grid: Grid) -> tuple[Shapes, Classes]:
    """Return the outline of every patch of equal cells.

    Parameters
    ----------
    classes
        A number a cell, shape (grid.rows, grid.columns); 0 is left out.
    grid
        Where the cells lie.

    Returns
    -------
    shapes : ndarray of object, shape (n,)
        Valid polygons along the edges of cells, on the grid's plane [m]. They do not overlap.
        Cells that touch at a corner alone are two patches.
    classes : ndarray of uint8, shape (n,)
        The number of each.
    """
    library = raster_library()
    with bounded(library):
        found = list(
            library.features.shapes(
                classes, mask=classes > 0, transform=_transform(library, grid), connectivity=4
            )
        )
    shapes = shape_array([shapely.geometry.shape(one) for one, _ in found] or [])
    return shapes, np.array([value for _, value in found], dtype=np.uint8)


def without_specks(classes: Classes, fewest_cells: int) -> Classes:
    """Give patches of fewer cells to their largest neighbour (GDAL's sieve filter)."""
    library = raster_library()
    with bounded(library):
        sieved: Classes = library.features.sieve(classes, fewest_cells, connectivity=4)
    return sieved


def _transform(library: Any, grid: Grid) -> Any:
    return library.Affine(grid.cell_m, 0.0, grid.west_m, 0.0, -grid.cell_m, grid.north_m)
