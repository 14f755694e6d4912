"""Rasters of heights for the desk's tests, made where the scene of the other tests lies."""

from pathlib import Path
from typing import Any

import numpy as np
import rasterio
from numpy.typing import NDArray
from rasterio import Affine

from tests.desk.test_bring_in import SOUTH, WEST
from turfmap.store.raster_windows import plane_crs

# A lot of 4e-4 degrees is about 37 by 44 m.
LOT_DEGREES = 4e-4


def write_raster(path: Path, bands: NDArray[Any], *, crs: str, **more: Any) -> Path:
    """Write bands, shape (b, r, c), as a GeoTIFF."""
    count, height, width = bands.shape
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        width=width,
        height=height,
        count=count,
        dtype=bands.dtype,
        crs=crs,
        **more,
    ) as made:
        made.write(bands)
    return path


def heights(
    path: Path,
    *,
    east: float = 0.0,
    north: float = 0.0,
    half_m: int = 330,
    nodata: float | None = -9999.0,
    bumps: NDArray[np.float32] | None = None,
) -> Path:
    """Write a tilted plane of 1 m cells round the scene; its rise is `east` and `north` [m/m].

    Its grid lies on the plane through the scene's corner, so that the tilt is true.
    """
    up, right = np.mgrid[half_m:-half_m:-1, -half_m:half_m].astype(np.float32)
    ground = 200.0 + east * (right + 0.5) + north * (up - 0.5)
    if bumps is not None:
        ground += bumps
    return write_raster(
        path,
        ground[None].astype(np.float32),
        crs=plane_crs(WEST, SOUTH),
        transform=Affine(1.0, 0.0, -half_m, 0.0, -1.0, half_m),
        nodata=nodata,
    )
