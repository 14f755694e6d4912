"""The scene that a property's shadows fall in: heights of a raster, and what is drawn with heights.

Either a surface was measured (roofs and crowns are in it), or the bare ground was, and drawn
obstacles and crowns stand on it by their column ``height_m``.
"""

from dataclasses import dataclass
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.protected import few
from turfmap.foundations import plane
from turfmap.foundations.errors import input_fault
from turfmap.foundations.grid import VERTICAL_UNITS, Grid
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import is_area
from turfmap.ground.coverage import coverage
from turfmap.ground.shadows import Scene, scene
from turfmap.store.raster_windows import Raster

# A cell that lies in a crown or roof by half or more belongs to it.
SHARE_OF_A_CELL = 0.5


@dataclass(frozen=True)
class Rasters:
    """The rasters of heights that were given: a surface, the bare ground, or both."""

    surface: Raster | None
    ground: Raster | None
    vertical_unit: str
    resampling: str

    def read(self, raster: Raster, grid: Grid) -> NDArray[np.float32]:
        """Return heights on a grid, shape (grid.rows, grid.columns) [m]; NaN where unknown."""
        (heights,) = raster.read(grid, [1], method=self.resampling)
        in_metres: NDArray[np.float32] = heights * np.float32(VERTICAL_UNITS[self.vertical_unit])
        return in_metres

    def cell_m(self, lon: float, lat: float) -> float:
        """Return the finer of the rasters' cells near a place [m]."""
        given = [one for one in (self.surface, self.ground) if one is not None]
        return min(one.cell_m(lon, lat) for one in given)


def opened(
    surface: Path | None, ground: Path | None, *, vertical_unit: str, resampling: str
) -> Rasters:
    """Open the rasters that were given.

    Raises
    ------
    InputFaultsError
        If there is none, or one cannot be used.
    """
    if surface is None and ground is None:
        raise input_fault(
            "sun is reckoned from heights, and none were given",
            "give a raster of the surface (--surface) or of the bare ground (--ground)",
            record="--surface",
        )
    over = None if surface is None else Raster(surface, record="--surface")
    bare = None if ground is None else Raster(ground, record="--ground")
    for one in (over, bare):
        if one is not None:
            one.see_unit(vertical_unit)
    return Rasters(over, bare, vertical_unit, resampling)


@dataclass(frozen=True)
class Standing:
    """Drawn things that cast shadows, in EPSG:4326.

    Attributes
    ----------
    frame
        Their rows: ``name, kind, height_m, deciduous, geometry``.
    is_crown
        Which of them are crowns; the others are buildings and the like.
    """

    frame: gpd.GeoDataFrame
    is_crown: NDArray[np.bool_]

    def said_of(self, *, heights_are_needed: bool) -> list[str]:
        """Say which of them could not be reckoned with, and why."""
        said = []
        areas, tall = is_area(shapes_of(self.frame)), self._heights() > 0.0
        stands = self.is_crown | (self.frame["kind"] == "building").to_numpy(bool)
        thin = (stands | tall) & ~areas
        if thin.any():
            said.append(
                f"Drawn as lines or points, so they cast no shadow here:"
                f" {few(self.frame['name'][thin])}. Draw their outlines."
            )
        low = stands & areas & ~tall
        if heights_are_needed and low.any():
            said.append(
                f"Without a height (column height_m), so they cast no shadow here:"
                f" {few(self.frame['name'][low])}. Hours near them come out too long."
            )
        return said

    def _heights(self) -> Floats:
        heights: Floats = pd.to_numeric(self.frame["height_m"], errors="coerce").to_numpy(float)
        return heights

    def heights_m(self, grid: Grid, chosen: NDArray[np.bool_]) -> NDArray[np.float32]:
        """Return the tallest drawn thing over each cell, shape (grid.rows, grid.columns) [m].

        0 where there is none; things without a height count as 0.
        """
        tall = np.nan_to_num(self._heights())
        found = np.zeros(grid.size, dtype=np.float32)
        cells, things = self._cells(grid, chosen)
        np.maximum.at(found, cells, tall[things].astype(np.float32))
        return found.reshape(grid.rows, grid.columns)

    def over(self, grid: Grid, chosen: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Tell which cells have a drawn thing over them, shape (grid.rows, grid.columns)."""
        found = np.zeros(grid.size, dtype=bool)
        found[self._cells(grid, chosen)[0]] = True
        return found.reshape(grid.rows, grid.columns)

    def _cells(
        self, grid: Grid, chosen: NDArray[np.bool_]
    ) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        shapes = shapes_of(self.frame)
        rows = np.flatnonzero(chosen & is_area(shapes) & shapely.is_valid(shapes))
        origin = np.broadcast_to(np.array([grid.lon, grid.lat]), (rows.size, 2))
        flat = plane.laid_flat(shapes[rows], origin)
        near = shapely.intersects(flat, shapely.box(*grid.bounds_m))
        found = coverage(flat[near], grid)
        whole = found.share >= SHARE_OF_A_CELL
        return found.cell[whole], rows[near][found.shape[whole]]

    def drops_leaves(self) -> NDArray[np.bool_]:
        """Tell which of them are crowns known to be deciduous."""
        drops: NDArray[np.bool_] = self.frame["deciduous"].isin([True, 1]).to_numpy(bool)
        return self.is_crown & drops


def scenes(
    rasters: Rasters, standing: Standing, asked: Grid, *, margin: int
) -> tuple[Scene, Scene | None]:
    """Return the scene in leaf, and the one without crowns that drop their leaves, if any do.

    Parameters
    ----------
    rasters
        Heights.
    standing
        What is drawn.
    asked
        The cells that are asked about.
    margin
        How many more cells on every side cast shadows.
    """
    grid = asked.wider(margin)
    drops = standing.drops_leaves()
    every = np.ones(drops.size, dtype=bool)
    if rasters.surface is None:
        assert rasters.ground is not None  # noqa: S101  (`opened` saw to it)
        ground = rasters.read(rasters.ground, grid)
        tall = ground + standing.heights_m(grid, every)
        in_leaf = scene(tall, ground, grid.cell_m, margin=margin)
        if not drops.any():
            return in_leaf, None
        tall = ground + standing.heights_m(grid, ~drops)
        return in_leaf, scene(tall, ground, grid.cell_m, margin=margin)
    surface = rasters.read(rasters.surface, grid)
    if rasters.ground is None:
        # The raster sees the tops of crowns; who stands under a drawn one stands in its shade.
        under = standing.over(grid, every)
        return scene(surface, None, grid.cell_m, under=under, margin=margin), None
    ground = rasters.read(rasters.ground, grid)
    surface = np.fmax(surface, ground + np.float32(0.0))
    in_leaf = scene(surface, ground, grid.cell_m, margin=margin)
    if not drops.any():
        return in_leaf, None
    cleared = np.where(standing.over(grid, drops), ground, surface)
    return in_leaf, scene(cleared, ground, grid.cell_m, margin=margin)
