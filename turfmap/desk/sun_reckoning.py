"""Hours of sun, neighbourhood by neighbourhood: one scene and one pass for all that lies near."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.protected import few
from turfmap.desk.sun_overlays import HoursOfGround
from turfmap.desk.sun_scene import Rasters, Standing, scenes
from turfmap.foundations import plane
from turfmap.foundations.dates import month_day
from turfmap.foundations.errors import input_fault
from turfmap.foundations.grid import Grid, grid_over
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes, is_area
from turfmap.ground.coverage import coverage
from turfmap.ground.map_pixels import cut_to
from turfmap.ground.sun import SunDay, season_days, sun_hours, sun_positions

# What stands further off than this casts no shadow here: 30 m of tree at 7 degrees of sun.
REACH_M = 250.0
# More cells are not kept at once; a larger property is reckoned on larger cells, and told so.
MOST_CELLS = 4_000_000
FINEST_CELL_M = 0.5
# More of a scene without heights than this is told.
MOST_UNKNOWN = 0.02
LONGEST_SEASON_DAYS = 366
# Properties whose middles lie in one square of this side, some 400 m, are reckoned together. A
# part of a plane's tile, so that all of them lie on one plane and share their cells.
NEIGHBOURHOOD_DEGREES = plane.TILE_DEGREES / 25.0


@dataclass(frozen=True)
class Season:
    """The days whose sun is reckoned.

    Attributes
    ----------
    first, last
        Both of them in it.
    step_minutes
        How long a step of a day is [min].
    every_days
        How many days one reckoned day stands for.
    """

    first: date
    last: date
    step_minutes: float = 15.0
    every_days: int = 7

    def faults(self) -> None:
        """See that it is a season.

        Raises
        ------
        InputFaultsError
            If it ends before it begins, or is longer than a year.
        """
        length = (self.last - self.first).days + 1
        if not 1 <= length <= LONGEST_SEASON_DAYS:
            raise input_fault(
                f"{self.first} to {self.last} is no season of 1 to {LONGEST_SEASON_DAYS} days",
                "give its first day and then its last",
                record="--to",
            )


class Reckoning:
    """Hours of sun of the zones of a place.

    Parameters
    ----------
    rasters
        Heights.
    standing
        What is drawn.
    season
        The days.
    bare
        The row of the table crown_light for deciduous crowns.

    Attributes
    ----------
    said
        What the reader must be told.
    hours
        The hours of each property's ground, by its name.
    """

    def __init__(
        self, rasters: Rasters, standing: Standing, season: Season, bare: dict[str, Any]
    ) -> None:
        self._rasters, self._standing = rasters, standing
        self._season, self._bare = season, bare
        self._cells_m: set[float] = set()
        self.said: list[str] = []
        self.hours: dict[str, HoursOfGround] = {}

    def figures(self, zones: gpd.GeoDataFrame) -> pd.DataFrame:
        """Return ``hours, known_share, samples`` of zones with ``property``, by their index."""
        parts = [part for _, part in zones.groupby("property", sort=False)]
        boxes = np.array([part.total_bounds for part in parts])
        middles = (boxes[:, :2] + boxes[:, 2:]) / 2.0
        squares = np.floor(middles / NEIGHBOURHOOD_DEGREES)
        _, which = np.unique(squares, axis=0, return_inverse=True)
        found = []
        for square in range(which.max() + 1):
            near = [parts[index] for index in np.flatnonzero(which == square)]
            fits = self._finest_cells(pd.concat(near)) <= MOST_CELLS
            for together in [near] if fits else [[one] for one in near]:
                found += self._neighbours(together)
        return pd.concat(found)

    def _neighbours(self, parts: Sequence[gpd.GeoDataFrame]) -> list[pd.DataFrame]:
        """Return the figures of properties that lie near each other, one frame each."""
        zones = pd.concat(parts)
        origin = self._origin(zones)
        grid = self._grid(zones, origin, _names(parts))
        hours = self._hours(zones, grid, _names(parts))
        found = []
        for part in parts:
            shapes = shapes_of(part)
            flat = plane.laid_flat(shapes, np.broadcast_to(origin, (shapes.size, 2)))
            inside, cells = cut_to(hours, grid, shapely.total_bounds(flat))
            name = str(part["property"].iloc[0])
            self.hours[name] = HoursOfGround(inside.copy(), cells, part.total_bounds)
            found.append(_figures(self._open(flat, cells), cells, inside).set_index(part.index))
        return found

    def _hours(self, zones: gpd.GeoDataFrame, grid: Grid, names: str) -> NDArray[np.float32]:
        margin = int(np.ceil(REACH_M / grid.cell_m))
        in_leaf, bare = scenes(self._rasters, self._standing, grid, margin=margin)
        if not in_leaf.known.any():
            return np.full(in_leaf.shape, np.nan, dtype=np.float32)
        if in_leaf.unknown_share > MOST_UNKNOWN:
            self.said.append(
                f"The raster ends near {names}: what stands beyond it casts no shadow here, so"
                " hours may come out too long."
            )
        return sun_hours(in_leaf, bare, self._days(zones.total_bounds))

    @staticmethod
    def _origin(zones: gpd.GeoDataFrame) -> Floats:
        origin: Floats = plane.origins(np.array([zones.total_bounds]))[0]
        return origin

    def _finest_cells(self, zones: gpd.GeoDataFrame) -> float:
        """Return how many of the finest cells it takes to reckon zones together."""
        box, finest_m = self._box(zones, self._origin(zones))
        return float((box[2:] - box[:2] + 2.0 * REACH_M).prod() / finest_m**2)

    def _box(self, zones: gpd.GeoDataFrame, origin: Floats) -> tuple[Floats, float]:
        """Return the box round zones on their plane, and the finest cell that makes sense [m]."""
        shapes = shapes_of(zones)
        flat = plane.laid_flat(shapes, np.broadcast_to(origin, (shapes.size, 2)))
        finest_m = max(self._rasters.cell_m(float(origin[0]), float(origin[1])), FINEST_CELL_M)
        return shapely.total_bounds(flat), finest_m

    def _grid(self, zones: gpd.GeoDataFrame, origin: Floats, names: str) -> Grid:
        box, finest_m = self._box(zones, origin)
        sides_m = box[2:] - box[:2] + 2.0 * REACH_M
        cell_m = max(finest_m, float(np.sqrt(sides_m.prod() / MOST_CELLS)))
        if cell_m > finest_m:
            self.said.append(
                f"{names} is large: its sun was reckoned on cells of {cell_m:.1f} m, not"
                f" {finest_m:.1f} m. Reckon it in parts for finer shadows."
            )
        self._cells_m.add(cell_m)
        return grid_over(box, cell_m=cell_m, origin=origin)

    def _days(self, box: Floats) -> list[SunDay]:
        longitude, latitude = (box[:2] + box[2:]) / 2.0
        step_h = self._season.step_minutes / 60.0
        days = []
        for day, count in season_days(
            self._season.first, self._season.last, self._season.every_days
        ):
            azimuth, elevation = sun_positions(
                day, longitude=longitude, latitude=latitude, step_h=step_h
            )
            share = self._bare["bare_share"] if _is_bare(day, self._bare) else 0.0
            days.append(SunDay(day, count, azimuth, elevation, step_h, share))
        return days

    def _open(self, flat: Shapes, grid: Grid) -> Shapes:
        """Return zones without the buildings in them: a roof's sun is not the lawn's."""
        shapes = shapes_of(self._standing.frame)
        roofs = shapes[~self._standing.is_crown & is_area(shapes)]
        origin = np.broadcast_to(np.array([grid.lon, grid.lat]), (roofs.size, 2))
        on_plane = plane.laid_flat(roofs, origin)
        near = on_plane[shapely.intersects(on_plane, shapely.box(*grid.bounds_m))]
        left: Shapes = shapely.difference(flat, shapely.union_all(near))
        return left

    def about(self) -> dict[str, Any]:
        """Return which rasters, which season and which rules were used."""
        rasters = {
            name: {"raster": one.name, "taken": one.taken}
            for name, one in (("surface", self._rasters.surface), ("ground", self._rasters.ground))
            if one is not None
        }
        season = self._season
        return rasters | {
            "vertical_unit": self._rasters.vertical_unit,
            "resampling": self._rasters.resampling,
            "cell_m": max(self._cells_m),
            "from": season.first.isoformat(),
            "to": season.last.isoformat(),
            "step_minutes": season.step_minutes,
            "every_days": season.every_days,
            "sun_above_deg": 0.0,
            "reach_m": REACH_M,
            "bare_crowns": {
                key: self._bare[key]
                for key in ("bare_share", "bare_from", "bare_to", "source", "how_read")
            },
        }


def _names(parts: Sequence[gpd.GeoDataFrame]) -> str:
    return few([str(part["property"].iloc[0]) for part in parts])


def _is_bare(day: date, bare: dict[str, Any]) -> bool:
    today, first, last = (
        (day.month, day.day),
        month_day(bare["bare_from"]),
        month_day(bare["bare_to"]),
    )
    return first <= today <= last if first <= last else today >= first or today <= last


def _figures(flat: Shapes, grid: Grid, hours: NDArray[np.float32]) -> pd.DataFrame:
    """Return hours and the known share of each shape, and its cells for what is asked later."""
    found = coverage(flat, grid)
    of_cell = hours.reshape(-1)[found.cell].astype(float)
    known = np.isfinite(of_cell)
    count = flat.size
    covered = np.bincount(found.shape, found.share, count)
    seen = np.bincount(found.shape[known], found.share[known], count)
    total = np.bincount(found.shape[known], (found.share * of_cell)[known], count)
    with np.errstate(invalid="ignore"):
        mean, share = total / seen, np.nan_to_num(seen / covered)
    samples: Sequence[Any] = [
        np.column_stack([of_cell[at], found.share[at]])
        for at in (np.flatnonzero((found.shape == index) & known) for index in range(count))
    ]
    return pd.DataFrame(
        {"hours": mean, "known_share": np.minimum(share, 1.0), "samples": pd.Series(samples)}
    )
