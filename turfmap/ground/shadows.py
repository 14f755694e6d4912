"""Where the sun reaches: shadows on a grid of heights, one pass over the cells for a sun position.

Rows (or columns) are walked away from the sun. Each carries the highest ray that anything before
it holds up; a cell below that ray is in shadow. So a cell costs the same however far its shadow
comes from, where marching to the sun from every cell costs as many steps as the shadow is long.
"""

from dataclasses import dataclass

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
    """

    holder: Heights
    receiver: Heights
    cell_m: float
    turned_holder: Heights
    turned_receiver: Heights
    overhead: Lit
    unknown_share: float


def scene(
    surface_m: Heights, ground_m: Heights | None, cell_m: float, *, under: Lit | None = None
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
    """
    ground = surface_m if ground_m is None else ground_m
    # Single precision holds centimetres only while figures are small.
    lowest = np.float32(np.min(surface_m, where=np.isfinite(surface_m), initial=np.inf))
    holder = _filled(surface_m - lowest)
    receiver = holder if ground_m is None else _filled(ground - lowest)
    overhead = np.greater(surface_m, ground + _OVERHEAD_M)
    turned = np.ascontiguousarray(holder.T)
    return Scene(
        holder=holder,
        receiver=receiver,
        cell_m=cell_m,
        turned_holder=turned,
        turned_receiver=turned if ground_m is None else np.ascontiguousarray(receiver.T),
        overhead=overhead if under is None else overhead | under,
        unknown_share=1.0 - float(np.isfinite(surface_m).mean()),
    )


def _filled(heights_m: Heights) -> Heights:
    return np.where(np.isfinite(heights_m), heights_m, _NOTHING_M).astype(np.float32)


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
    ndarray of bool, shape (r, c)
        Cells at the edge see what lies outside the grid as open.

    Notes
    -----
    A ray from a height h falls by tan(elevation) for each metre. With t the way from the sun's
    side, a cell is in shadow if h' + t' tan e > h + t tan e for some cell before it on its line:
    a running maximum. Lines are skewed along the nearer axis, to the nearest cell.
    """
    azimuth = np.radians(azimuth_deg)
    north, east = np.cos(azimuth), np.sin(azimuth)
    # A step along the nearer axis, and what it moves across.
    along_rows = abs(north) >= abs(east)
    major, minor = (north, east) if along_rows else (east, north)
    fall_m = ground.cell_m / abs(major) * np.tan(np.radians(elevation_deg))
    holder = ground.holder if along_rows else ground.turned_holder
    receiver = ground.receiver if along_rows else ground.turned_receiver
    # Row 0 is north: walking south from a sun in the north is forward. Columns: walking east from
    # a sun in the west is forward.
    forward = north > 0.0 if along_rows else east < 0.0
    # Away from the sun, a step across moves east by -minor along rows; south by +minor in columns.
    across = -minor / abs(major) if along_rows else minor / abs(major)
    shaded = _swept(holder, receiver, forward=forward, across=float(across), fall_m=float(fall_m))
    lit: Lit = ~(shaded if along_rows else shaded.T)
    lit &= ~ground.overhead
    return lit


def _swept(
    holder: Heights, receiver: Heights, *, forward: bool, across: float, fall_m: float
) -> Lit:
    """Walk the rows away from the sun; return which cells are in shadow.

    Parameters
    ----------
    across
        Columns that a line moves by with each row.
    fall_m
        What a ray falls with each row [m].
    """
    rows, columns = holder.shape
    shift = np.rint(np.arange(rows) * across).astype(int)
    # The line that is at column j in row k was at column j - shift[k] in the first row.
    first = int(shift.max())
    ray = np.full(columns + int(shift.max() - shift.min()), -np.inf, dtype=np.float32)
    shaded = np.empty((rows, columns), dtype=bool)
    rise = (np.arange(rows) * fall_m).astype(np.float32)
    level = np.empty(columns, dtype=np.float32)
    apart = receiver is not holder
    for step, row in enumerate(range(rows) if forward else range(rows - 1, -1, -1)):
        start = first - shift[step]
        held = ray[start : start + columns]
        if apart:
            np.add(receiver[row], rise[step], out=level)
            np.greater(held, level, out=shaded[row])
            np.add(holder[row], rise[step], out=level)
        else:
            np.add(holder[row], rise[step], out=level)
            np.greater(held, level, out=shaded[row])
        np.maximum(held, level, out=held)
    return shaded
