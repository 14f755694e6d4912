"""How much of each cell of a grid lies in each shape: cells at an edge count in part.

Taking the cells whose centre is inside would be off by a tenth on a small bed.
"""

from dataclasses import dataclass
from importlib import import_module
from typing import Any

import numpy as np
import shapely

from turfmap.foundations.errors import input_fault
from turfmap.foundations.grid import Grid
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes, is_present
from turfmap.ground.near import Indices


@dataclass(frozen=True)
class Coverage:
    """One row a pair of a shape and a cell that it touches, shape (p,).

    Attributes
    ----------
    shape
        Which shape, ascending.
    cell
        Which cell, counted along the rows from the north-west.
    share
        How much of the cell lies in the shape, 0 to 1.
    """

    shape: Indices
    cell: Indices
    share: Floats


def coverage(flat: Shapes, grid: Grid) -> Coverage:
    """Lay shapes on a grid.

    Parameters
    ----------
    flat
        Valid areas on the grid's plane, shape (n,) [m]; missing ones cover nothing.
    grid
        The cells. What lies outside of them is not counted.

    Raises
    ------
    InputFaultsError
        If the library exactextract is not installed.
    """
    chosen = np.flatnonzero(is_present(flat))
    found = _exact(flat[chosen], grid) if chosen.size else []
    counts = [len(one["cell_id"]) for one in found]
    return Coverage(
        shape=np.repeat(chosen, counts),
        cell=np.concatenate([np.asarray(one["cell_id"], np.int64) for one in found] or [_NO_CELLS]),
        share=np.concatenate([np.asarray(one["coverage"], float) for one in found] or [_NO_SHARES]),
    )


_NO_CELLS = np.empty(0, dtype=np.int64)
_NO_SHARES = np.empty(0, dtype=np.float64)


def _exact(flat: Shapes, grid: Grid) -> list[dict[str, Any]]:
    library = _library()
    west_m, south_m, east_m, north_m = grid.bounds_m
    # Its values are not asked for: a single number stands for all of them.
    nothing = np.broadcast_to(np.float32(0.0), (grid.rows, grid.columns))
    raster = library.raster.NumPyRasterSource(nothing, west_m, south_m, east_m, north_m)
    features = [
        {"type": "Feature", "properties": {}, "geometry": shapely.geometry.mapping(shape)}
        for shape in flat
    ]
    found = library.exact_extract(raster, features, ["cell_id", "coverage"])
    return [one["properties"] for one in found]


def _library() -> Any:
    try:
        import_module("exactextract.raster")
        return import_module("exactextract")
    except ImportError:
        raise input_fault(
            "sums over zones of a raster need the library exactextract",
            "install turfmap with its extra: pip install turfmap[picture]",
        ) from None
