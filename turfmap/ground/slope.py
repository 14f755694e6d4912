"""How steep ground is, from heights on a grid."""

from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray

from turfmap.foundations.grid import Grid
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes, area_parts
from turfmap.ground.coverage import coverage

Heights = NDArray[np.float32]
# A cell of which less than this lies in a zone tells nothing of the zone's steepest place.
SHARE_TO_BE_THE_STEEPEST = 0.5


def horn_slope(height_m: Heights, cell_m: float) -> Heights:
    """Return the steepness of each cell that has eight neighbours, by Horn's method.

    Parameters
    ----------
    height_m
        Heights, rows from north to south, shape (r, c) [m]; NaN where unknown.
    cell_m
        Side of a cell, the same both ways [m].

    Returns
    -------
    ndarray of float32, shape (r - 2, c - 2)
        Rise over run [1]; NaN where any of the nine heights is unknown.

    References
    ----------
    B. K. P. Horn, Hill shading and the reflectance map, Proceedings of the IEEE 69(1), 1981:
    weighted central differences, 1 2 1.
    """
    z = height_m
    west = z[:-2, :-2] + 2.0 * z[1:-1, :-2] + z[2:, :-2]
    east = z[:-2, 2:] + 2.0 * z[1:-1, 2:] + z[2:, 2:]
    north = z[:-2, :-2] + 2.0 * z[:-2, 1:-1] + z[:-2, 2:]
    south = z[2:, :-2] + 2.0 * z[2:, 1:-1] + z[2:, 2:]
    # The middle of a neighbourhood counts too: a hole in it is no place to tell a slope of.
    known = np.where(np.isnan(z[1:-1, 1:-1]), np.nan, 1.0)
    steepness: Heights = (np.hypot(east - west, north - south) * known / (8.0 * cell_m)).astype(
        np.float32
    )
    return steepness


@dataclass
class SlopeSums:
    """What is summed over the cells of one zone, block by block.

    Attributes
    ----------
    limits
        Steepnesses whose excess is asked for [1].
    covered, known
        Cells in the zone, those at its edge in part; and those of which the slope is known.
    rise
        Sum of rise over run [1].
    surface
        Sum of the surface that a square metre of plan has.
    steepest, steepest_at_edge
        The steepest cell that lies in the zone by half, and that lies in it at all [1]; below 0
        where there is none.
    above
        Cells steeper than each limit.
    """

    limits: Floats
    covered: float = 0.0
    known: float = 0.0
    rise: float = 0.0
    surface: float = 0.0
    steepest: float = -1.0
    steepest_at_edge: float = -1.0
    above: Floats = field(default_factory=lambda: np.zeros(0))

    def __post_init__(self) -> None:
        self.above = np.zeros(self.limits.size)

    def add(self, flat: shapely.Geometry, grid: Grid, steepness: Heights) -> None:
        """Add a block of cells.

        Parameters
        ----------
        flat
            The zone on the grid's plane [m].
        grid
            The block.
        steepness
            From `horn_slope`, shape (grid.rows, grid.columns) [1].
        """
        found = coverage(np.array([flat], dtype=object), grid)
        slope, share = steepness.reshape(-1)[found.cell].astype(float), found.share
        self.covered += float(share.sum())
        there = ~np.isnan(slope)
        slope, share = slope[there], share[there]
        self.known += float(share.sum())
        self.rise += float(share @ slope)
        self.surface += float(share @ np.hypot(1.0, slope))
        self.above += (slope[None] > self.limits[:, None]) @ share
        inside = share >= SHARE_TO_BE_THE_STEEPEST
        self.steepest = max(self.steepest, float(slope[inside].max(initial=-1.0)))
        self.steepest_at_edge = max(self.steepest_at_edge, float(slope.max(initial=-1.0)))

    def found(self, gross_m2: float) -> dict[str, float | None]:
        """Return the figures of the zone; None where no slope is known.

        Parameters
        ----------
        gross_m2
            The zone's plan area [m2].
        """
        known_share = self.known / self.covered if self.covered else 0.0
        if not self.known:
            return {"known_share": 0.0, "mean_pct": None, "steepest_pct": None, "surface_m2": None}
        steepest = self.steepest if self.steepest >= 0.0 else self.steepest_at_edge
        return {
            "known_share": min(known_share, 1.0),
            "mean_pct": 100.0 * self.rise / self.known,
            "steepest_pct": 100.0 * steepest,
            "surface_m2": gross_m2 * self.surface / self.known,
        }

    def shares_above(self) -> list[float | None]:
        """Return the share of the known ground that is steeper than each limit."""
        return [float(one) / self.known if self.known else None for one in self.above]


def less_steep(flat: Shapes, steep: Shapes) -> Shapes:
    """Take steep ground out of other ground, both on the same plane, shape (n,)."""
    return area_parts(shapely.difference(flat, steep))
