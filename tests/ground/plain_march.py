"""Shadows by marching from every cell towards the sun: slow, plain, and not ours to ship."""

import numpy as np
from numpy.typing import NDArray

Heights = NDArray[np.float32]


def marched(height_m: Heights, azimuth_deg: float, elevation_deg: float) -> NDArray[np.bool_]:
    """Tell which cells of a surface of 1 m cells see the sun, by nearest cells along the ray."""
    azimuth = np.radians(azimuth_deg)
    north, east = np.cos(azimuth), np.sin(azimuth)
    longest = max(abs(north), abs(east))
    fall_m = np.tan(np.radians(elevation_deg)) / longest
    rows, columns = height_m.shape
    relief_m = float(height_m.max() - height_m.min())
    shaded = np.zeros(height_m.shape, dtype=bool)
    step = 1
    while step * fall_m <= relief_m:
        down = round(-step * north / longest)
        right = round(step * east / longest)
        if abs(down) >= rows or abs(right) >= columns:
            break
        top, bottom = max(0, -down), min(rows, rows - down)
        left, end = max(0, -right), min(columns, columns - right)
        towards = height_m[top + down : bottom + down, left + right : end + right]
        here = height_m[top:bottom, left:end]
        shaded[top:bottom, left:end] |= towards > here + np.float32(step * fall_m)
        step += 1
    return ~shaded
