"""Relief as light shows it, against a library's own hill-shade and against closed forms."""

from typing import Any

import numpy as np
import pytest
from matplotlib import cbook
from matplotlib.colors import LightSource
from numpy.typing import NDArray

from turfmap.ground.hillshade import hillshade


def tilted(east: float, north: float, cell_m: float = 2.0) -> NDArray[np.float32]:
    up, right = np.mgrid[12:0:-1, 0:12]
    return np.asarray(cell_m * (east * right + north * up), np.float32)


@pytest.mark.parametrize(("east", "north"), [(0, 0), (0.3, 0), (0, 0.3), (-0.2, 0.5), (2.0, -1.0)])
@pytest.mark.parametrize("azimuth", [315.0, 90.0, 200.0])
def test_planes_are_as_bright_as_matplotlib_makes_them(
    east: float, north: float, azimuth: float
) -> None:
    """matplotlib.colors.LightSource.hillshade: on a plane it stretches no contrast."""
    ground = tilted(east, north)
    # It takes rows to run from north to south, as ours do.
    reference = LightSource(azdeg=azimuth, altdeg=45.0).hillshade(ground, dx=2.0, dy=2.0)
    found = hillshade(ground, 2.0, azimuth_deg=azimuth)
    assert found == pytest.approx(reference[1:-1, 1:-1], abs=2e-6)


# What `gdaldem hillshade -az 315 -alt 45` of GDAL 3.6.2 wrote for the heights below on cells of
# 30 m at these rows and columns: 1 in shadow to 255 in full light.
AT = (20, 120, 220, 320), (30, 140, 250, 360)
GDAL_LIGHT = [
    [172, 155, 45, 103],
    [196, 60, 243, 235],
    [200, 119, 228, 122],
    [195, 168, 193, 236],
]


def test_real_ground_is_as_bright_as_gdal_makes_it() -> None:
    """Jacksboro fault, SRTM heights that matplotlib ships; GDAL rounds to whole numbers."""
    ground: Any = cbook.get_sample_data("jacksboro_fault_dem.npz")
    with ground:
        height_m = np.asarray(ground["elevation"], np.float32)
    # Ours lacks the outermost row and column.
    light = hillshade(height_m, 30.0)[np.ix_(*(np.array(at) - 1 for at in AT))]
    assert 1.0 + 254.0 * light == pytest.approx(np.array(GDAL_LIGHT), abs=0.501)


def test_level_ground_and_ground_that_faces_the_light_have_the_brightness_of_the_formula() -> None:
    """Lambert's cosine law: sin 45 on level ground, 1 where the normal points at the light."""
    assert hillshade(tilted(0, 0), 2.0) == pytest.approx(np.sqrt(0.5))
    # Facing north-west at 45 degrees: it falls by 1 towards the north-west.
    facing = hillshade(tilted(np.sqrt(0.5), -np.sqrt(0.5)), 2.0)
    assert facing == pytest.approx(1.0, abs=1e-6)
    assert hillshade(tilted(-2.0, 2.0), 2.0) == pytest.approx(0.0)


def test_a_hole_makes_its_nine_cells_unknown() -> None:
    ground = tilted(0.1, 0.1)
    ground[5, 5] = np.nan
    assert np.isnan(hillshade(ground, 2.0)).sum() == 9
