"""Where the sun reaches: shadows on a grid of heights, one pass over the cells for a sun position.

Rows (or columns) are walked away from the sun. Each carries the highest ray that anything before
it holds up; a cell below that ray is in shadow. So a cell costs the same however far its shadow
comes from, where marching to the sun from every cell costs as many steps as the shadow is long.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Heights = NDArray[np.float32]
Lit = NDArray[np.bool_]


@dataclass(frozen=True)
class Scene:
    """Heights on a grid, ready to be swept from any side, rows from north to south.

    Attributes
    ----------
    holder
        What casts shadows: the surface, shape (r, c) [m]. Missing heights cast none.
    receiver
        What they fall on: the ground, shape (r, c) [m]. Where the surface is higher than the
        ground there is something overhead, and the ground is in its shadow.
    cell_m
        Side of a cell [m].
    turned_holder, turned_receiver
        The same with rows from west to east.
    overhead
        Cells that never see the sun, for what stands on them.
    unknown_share
        How much of the surface has no height.
    margin
        Cells on every side that cast shadows and are not asked about.
    relief_m
        How far the highest thing stands over the lowest cell that is asked about [m].
    """

    holder: Heights
    receiver: Heights
    cell_m: float
    turned_holder: Heights
    turned_receiver: Heights
    overhead: Lit
    unknown_share: float
    margin: int
    relief_m: float

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns that are asked about."""
        rows, columns = self.holder.shape
        return rows - 2 * self.margin, columns - 2 * self.margin

    @property
    def known(self) -> Lit:
        """Which cells that are asked about have a height, shape `Scene.shape`."""
        known: Lit = _middle(self.receiver, self.margin) > _NOTHING_M
        return known


def scene(
    surface_m: Heights,
    ground_m: Heights | None,
    cell_m: float,
    *,
    under: Lit | None = None,
    margin: int = 0,
) -> Scene:
    """Make a scene of a surface and, where that is known as well, the ground under it.

    Parameters
    ----------
    surface_m
        Heights of the surface, rows from north to south, shape (r, c) [m]; NaN where unknown.
    ground_m
        Heights of the ground, the same; None if the surface is the ground.
    cell_m
        Side of a cell [m].
    under
        Cells that are known to lie under something, whatever the heights say, shape (r, c).
    margin
        Cells on every side that cast shadows and are not asked about.
    """
    ground = surface_m if ground_m is None else ground_m
    # Single precision holds centimetres only while figures are small.
    lowest = np.float32(np.min(surface_m, where=np.isfinite(surface_m), initial=np.inf))
    holder = _filled(surface_m - lowest)
    receiver = holder if ground_m is None else _filled(ground - lowest)
    overhead = np.greater(surface_m, ground + _OVERHEAD_M)
    if under is not None:
        overhead |= under
    turned = np.ascontiguousarray(holder.T)
    return Scene(
        holder=holder,
        receiver=receiver,
        cell_m=cell_m,
        turned_holder=turned,
        turned_receiver=turned if ground_m is None else np.ascontiguousarray(receiver.T),
        overhead=_middle(overhead, margin),
        unknown_share=1.0 - float(np.isfinite(surface_m).mean()),
        margin=margin,
        relief_m=_relief_m(holder, _middle(receiver, margin)),
    )


def _middle(cells: NDArray[Any], margin: int) -> NDArray[Any]:
    rows, columns = cells.shape
    return cells[margin : rows - margin, margin : columns - margin]


def _relief_m(holder: Heights, receiver: Heights) -> float:
    lowest = np.min(receiver, where=receiver > _NOTHING_M, initial=np.inf)
    return max(float(holder.max() - lowest), 0.0)


def _filled(heights_m: Heights) -> Heights:
    return np.where(np.isfinite(heights_m), heights_m, _NOTHING_M).astype(np.float32)


# Lines of sight in the width of a cell; odd, so that one of them runs near its middle. One alone
# would put the edges of shadows off by up to a cell.
LINES = 5
# Lower than any ray that is looked at.
_NOTHING_M = np.float32(-1e9)
# What stands less than this over the ground is grass.
_OVERHEAD_M = np.float32(0.5)


def sunlit(ground: Scene, azimuth_deg: float, elevation_deg: float) -> Lit:
    """Tell which cells see the sun.

    Parameters
    ----------
    ground
        From `scene`.
    azimuth_deg
        Where the sun stands, from north by east [deg].
    elevation_deg
        How high it stands over the horizon [deg], more than 0.

    Returns
    -------
    ndarray of bool, shape `Scene.shape`
        Cells at the edge see what lies outside the grid as open.

    Notes
    -----
    A ray from a height h falls by tan(elevation) for each metre. With t the way from the sun's
    side, a cell is in shadow if h' + t' tan e > h + t tan e for some cell before it on its line:
    a running maximum. Lines are skewed along the nearer axis, `LINES` of them a cell, and each
    runs through whole cells; a cell is lit or not by the line next to its middle. Only as much of
    the margin is walked as the highest thing could reach over.
    """
    azimuth = np.radians(azimuth_deg)
    north, east = np.cos(azimuth), np.sin(azimuth)
    # A step along the nearer axis, and what it moves across.
    along_rows = abs(north) >= abs(east)
    major, minor = (north, east) if along_rows else (east, north)
    # Row 0 is north: walking south from a sun in the north is forward. Columns: walking east from
    # a sun in the west is forward.
    forward = north > 0.0 if along_rows else east < 0.0
    # Away from the sun, a step across moves east by -minor along rows; south by +minor in columns.
    across = -minor / abs(major) if along_rows else minor / abs(major)
    walk = _Walk(
        holder=ground.holder if along_rows else ground.turned_holder,
        receiver=ground.receiver if along_rows else ground.turned_receiver,
        step=1 if forward else -1,
        across=float(across),
        fall_m=float(ground.cell_m / abs(major) * np.tan(np.radians(elevation_deg))),
        margin=ground.margin,
    )
    shaded = walk.shaded(ground.relief_m)
    lit: Lit = ~(shaded if along_rows else shaded.T)
    lit &= ~ground.overhead
    return lit


@dataclass(frozen=True)
class _Walk:
    """A walk over rows away from the sun.

    Attributes
    ----------
    holder, receiver
        As of the scene, its rows the ones that are walked.
    step
        1 if the sun stands before row 0, -1 if behind the last one.
    across
        Columns that a line moves by with each row.
    fall_m
        What a ray falls with each row [m].
    margin
        As of the scene.
    """

    holder: Heights
    receiver: Heights
    step: int
    across: float
    fall_m: float
    margin: int

    def shaded(self, relief_m: float) -> Lit:
        """Return which cells that are asked about are in shadow."""
        rows, columns = self.holder.shape
        reach = relief_m / self.fall_m
        before = min(self.margin, int(reach) + 1)
        beside = min(self.margin, int(reach * abs(self.across)) + 2)
        inner = columns - 2 * self.margin
        west = self.margin - (beside if self.across > 0.0 else 0)
        seen = slice(west, west + inner + beside)
        walked = range(rows)[:: self.step][self.margin - before : rows - self.margin]
        found = self._swept(np.array(walked), seen)[before:]
        start = self.margin - west
        return found[:: self.step, start : start + inner]

    def _swept(self, walked: NDArray[np.int64], seen: slice) -> Lit:
        """Walk rows in order over some columns; return which cells are in shadow, as walked."""
        columns = seen.stop - seen.start
        # Steps are counted from the edge of the scene, so that a window has the bits of the whole.
        steps = walked if self.step == 1 else self.holder.shape[0] - 1 - walked
        shift = np.rint(steps * (self.across * LINES)).astype(int)
        # Line n of the fan lies in row k in the cell (n - places[k]) // LINES.
        places = int(shift.max()) - shift
        # Lines that are LINES apart lie side by side, so that whole rows of them are looked at.
        rays = np.full(
            (LINES, columns + int(np.ptp(shift)) // LINES + 2), -np.inf, dtype=np.float32
        )
        shaded = np.empty((walked.size, columns), dtype=bool)
        rise = (steps * self.fall_m).astype(np.float32)
        level = np.empty(columns, dtype=np.float32)
        apart = self.receiver is not self.holder
        for order, row in enumerate(walked.tolist()):
            start, line = divmod(int(places[order]), LINES)
            further, middle = divmod(line + LINES // 2, LINES)
            np.add(self.receiver[row, seen], rise[order], out=level)
            in_middle = rays[middle, start + further : start + further + columns]
            np.greater(in_middle, level, out=shaded[order])
            if apart:
                np.add(self.holder[row, seen], rise[order], out=level)
            for held in (
                rays[line:, start : start + columns],
                rays[:line, start + 1 : start + 1 + columns],
            ):
                np.maximum(held, level, out=held)
        return shaded
