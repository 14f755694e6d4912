"""Tiles cut from a picture: right place, right colours, nothing where there is no picture."""

import math
import warnings
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import rasterio
from pyproj import Transformer

from turfmap.foundations.errors import InputFaultsError
from turfmap.store.picture_tiles import Picture

WEST, NORTH, SIDE = -84.0, 33.0, 0.01
RED, BLUE, GREEN = (200, 10, 20), (10, 20, 200), (20, 200, 10)


def tile_of(lon: float, lat: float, zoom: int) -> tuple[int, int, int]:
    """Return the tile of a place: OGC 17-083r4, annex D.1, from the definition of EPSG:3857."""
    across = (lon + 180.0) / 360.0
    down = (1.0 - math.asinh(math.tan(math.radians(lat))) / math.pi) / 2.0
    return zoom, int(across * 2**zoom), int(down * 2**zoom)


def picture(path: Path, bands: Any, **more: Any) -> Path:
    """Write a picture of two halves of 0.01 degrees, west and east."""
    count, height, width = bands.shape
    shape = {"driver": "GTiff", "count": count, "height": height, "width": width}
    at = rasterio.Affine(SIDE / width, 0, WEST, 0, -SIDE / height, NORTH)
    about = {"crs": "EPSG:4326", "dtype": bands.dtype.name, "transform": at} | more
    colours = about.pop("colormap", None)
    with rasterio.open(path, "w", **shape, **about) as made:
        made.write(bands)
        if colours:
            made.write_colormap(1, colours)
    return path


def halves(west: tuple[int, ...], east: tuple[int, ...]) -> Any:
    bands = np.zeros((len(west), 100, 100), dtype=np.uint8)
    bands[:, :, :50] = np.array(west, dtype=np.uint8)[:, None, None]
    bands[:, :, 50:] = np.array(east, dtype=np.uint8)[:, None, None]
    return bands


def pixels(png: bytes) -> Any:
    with warnings.catch_warnings(), rasterio.MemoryFile(png) as memory:
        warnings.simplefilter("ignore")  # a tile does not say where it lies
        read = memory.open()
        assert (read.driver, read.width, read.height, read.count) == ("PNG", 256, 256, 4)
        found = read.read()
        read.close()
    return found


def middle(path: Path, lon: float) -> tuple[int, ...]:
    """Return colours and opacity at a longitude, half way down the picture."""
    lat, zoom = NORTH - SIDE / 2, 18
    _, column, row = tile_of(lon, lat, zoom)
    found = pixels(Picture(path).tile(zoom, column, row))
    across = int(((lon + 180.0) / 360.0 * 2**zoom - column) * 256)
    return tuple(int(value) for value in found[:, 128, across])


def test_colours_stand_where_they_lie(tmp_path: Path) -> None:
    path = picture(tmp_path / "a.tif", halves(RED, BLUE))
    assert middle(path, WEST + SIDE / 4) == (*RED, 255)
    assert middle(path, WEST + SIDE * 3 / 4) == (*BLUE, 255)
    assert middle(path, WEST - SIDE / 4)[3] == 0


def test_where_the_picture_does_not_reach_nothing_is_drawn(tmp_path: Path) -> None:
    tiles = Picture(picture(tmp_path / "a.tif", halves(RED, BLUE)))
    assert not pixels(tiles.tile(10, 0, 0)).any()
    assert pixels(tiles.tile(0, 0, 0)).shape == (4, 256, 256)
    for nonsense in ((25, 0, 0), (3, 8, 0), (3, 0, 8), (-1, 0, 0)):
        with pytest.raises(InputFaultsError, match="no such tile"):
            tiles.tile(*nonsense)


def test_grey_palettes_and_opacity_are_understood(tmp_path: Path) -> None:
    grey = picture(tmp_path / "grey.tif", halves((90,), (200,)))
    assert middle(grey, WEST + SIDE / 4) == (90, 90, 90, 255)
    colours = {0: (*RED, 255), 1: (*GREEN, 255)}
    indexed = picture(tmp_path / "palette.tif", halves((0,), (1,)), colormap=colours)
    assert middle(indexed, WEST + SIDE * 3 / 4)[:3] == GREEN
    clear = picture(tmp_path / "alpha.tif", halves((*RED, 0), (*BLUE, 255)), alpha="YES",
                    photometric="RGB")  # fmt: skip
    assert middle(clear, WEST + SIDE / 4)[3] == 0
    assert middle(clear, WEST + SIDE * 3 / 4) == (*BLUE, 255)


def test_other_systems_are_laid_on_the_map_too(tmp_path: Path) -> None:
    """UTM zone 16 N, its easting and northing of the middle from pyproj."""
    turn = Transformer.from_crs("EPSG:4326", "EPSG:32616", always_xy=True)
    east, north = turn.transform(WEST + SIDE / 2, NORTH - SIDE / 2)
    at = rasterio.Affine(10.0, 0, east - 500.0, 0, -10.0, north + 500.0)
    path = picture(tmp_path / "utm.tif", halves(RED, BLUE), crs="EPSG:32616", transform=at)
    assert middle(path, WEST + SIDE / 2 - 0.002)[:3] == RED
    assert middle(path, WEST + SIDE / 2 + 0.002)[:3] == BLUE


def test_a_file_that_names_another_is_not_followed(tmp_path: Path) -> None:
    """A GDAL VRT reads whatever file it names; it is refused by its driver, whatever its name."""
    inner = picture(tmp_path / "a.tif", halves(RED, BLUE))
    outer = tmp_path / "b.tif"
    outer.write_text(
        f'<VRTDataset rasterXSize="100" rasterYSize="100"><SRS>EPSG:4326</SRS>'
        "<GeoTransform>-84,1e-4,0,33,0,-1e-4</GeoTransform>"
        "<VRTRasterBand dataType='Byte' band='1'>"
        f"<SimpleSource><SourceFilename>{inner}</SourceFilename></SimpleSource></VRTRasterBand>"
        "</VRTDataset>"
    )
    with pytest.raises(InputFaultsError, match="cannot be read as a picture"):
        Picture(outer)


def test_deep_colours_are_told(tmp_path: Path) -> None:
    deep = picture(tmp_path / "deep.tif", halves(RED, BLUE).astype(np.uint16))
    with pytest.raises(InputFaultsError, match="uint16, not of 8 bits"):
        Picture(deep)
