"""Tiles cut out of a picture from the air, as they are asked for.

References
----------
OGC 17-083r4, Two Dimensional Tile Matrix Set, annex D.1: WebMercatorQuad.
"""

import math
import struct
import warnings
import zlib
from contextlib import suppress
from functools import lru_cache
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np

from turfmap.foundations.errors import input_fault

TILE_PX = 256
HIGHEST_ZOOM = 24
_HALF_EQUATOR_M = math.pi * 6_378_137.0
# Formats whose files never name another file to read.
_DRIVERS = ("GTiff", "JP2OpenJPEG", "PNG", "JPEG", "WEBP")
_KEPT_TILES = 512


class Picture:
    """A picture that knows where it lies.

    Parameters
    ----------
    path
        A GeoTIFF, or another picture that carries its coordinate system.

    Raises
    ------
    InputFaultsError
        If it cannot be read, does not say where it lies, or is not of 8-bit colours.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._rasterio = _library()
        with warnings.catch_warnings():
            # That it does not say where it lies is told below, in a sentence.
            warnings.simplefilter("ignore", self._rasterio.errors.NotGeoreferencedWarning)
            self._driver = self._driver_of()
            with self._open() as found:
                problem = _problem(found)
                self._shows_palette = found.count == 1 and _has_palette(found)
        if problem:
            raise input_fault(*problem, file=str(path))
        self.tile = lru_cache(maxsize=_KEPT_TILES)(self._tile)

    def _driver_of(self) -> str:
        """Return which of the formats allowed here the file is in."""
        if not self._path.is_file():
            raise input_fault("there is no such file", "give a GeoTIFF", file=str(self._path))
        for driver in _DRIVERS:
            with suppress(self._rasterio.errors.RasterioIOError):
                self._rasterio.open(self._path, driver=driver, sharing=False).close()
                return driver
        raise input_fault("it cannot be read as a picture", "give a GeoTIFF", file=str(self._path))

    def _open(self) -> Any:
        return self._rasterio.open(self._path, driver=self._driver, sharing=False)

    def _tile(self, zoom: int, column: int, row: int) -> bytes:
        """Return a tile as PNG; where the picture does not reach, it is transparent.

        Parameters
        ----------
        zoom, column, row
            Place in the tile matrix set WebMercatorQuad, row 0 in the north.

        Raises
        ------
        InputFaultsError
            If the set has no such tile, or the picture cannot be read any more.
        """
        if not (0 <= zoom <= HIGHEST_ZOOM and 0 <= column < 2**zoom and 0 <= row < 2**zoom):
            raise input_fault("there is no such tile", "", record=f"{zoom}/{column}/{row}")
        side_m = 2.0 * _HALF_EQUATOR_M / 2**zoom
        west, north = column * side_m - _HALF_EQUATOR_M, _HALF_EQUATOR_M - row * side_m
        try:
            return _png(self._cut(west, north, side_m / TILE_PX))
        except self._rasterio.errors.RasterioError:
            said = "the picture cannot be read any more"
            raise input_fault(said, "see whether it is still there", file=str(self._path)) from None

    def _cut(self, west: float, north: float, pixel_m: float) -> Any:
        """Read colours and opacity of a tile's ground, shape (4, 256, 256)."""
        transform = self._rasterio.Affine(pixel_m, 0.0, west, 0.0, -pixel_m, north)
        # Half a palette's number is another colour.
        way = "nearest" if self._shows_palette else "bilinear"
        wanted = {
            "crs": "EPSG:3857",
            "transform": transform,
            "width": TILE_PX,
            "height": TILE_PX,
            "resampling": self._rasterio.enums.Resampling[way],
        }
        with self._open() as found:
            has_alpha = _has_alpha(found)
            warped_as = self._rasterio.vrt.WarpedVRT
            with warped_as(found, add_alpha=not has_alpha, **wanted) as warped:
                bands = warped.read()
            colours, alpha = bands[:-1], bands[-1:]
            if self._shows_palette:
                table = np.zeros((256, 3), dtype=np.uint8)
                for index, colour in found.colormap(1).items():
                    table[index] = colour[:3]
                colours = np.moveaxis(table[colours[0]], -1, 0)
        if len(colours) < 3:
            colours = np.repeat(colours[:1], 3, axis=0)
        return np.concatenate([colours[:3], alpha])


def _png(bands: Any) -> bytes:
    """Write red, green, blue and opacity, shape (4, n, n), as PNG.

    References
    ----------
    W3C, Portable Network Graphics, second edition, clauses 5.3 (chunks), 9.2 (filter 0), 11.2.2.
    """
    side = bands.shape[1]
    rows = np.moveaxis(bands, 0, -1).reshape(side, -1)
    filtered = np.column_stack([np.zeros(side, dtype=np.uint8), rows]).tobytes()
    head = struct.pack(">IIBBBBB", side, side, 8, 6, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"IDAT", zlib.compress(filtered, 6)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        for name, data in chunks
    )


def _library() -> Any:
    try:
        library = import_module("rasterio")
        for part in ("enums", "vrt"):
            import_module(f"rasterio.{part}")
    except ImportError:
        raise input_fault(
            "pictures need the library rasterio",
            "install turfmap with its extra: pip install turfmap[picture]",
            record="--picture",
        ) from None
    return library


def _problem(found: Any) -> tuple[str, str] | None:
    """Return what is wrong with an open picture and what to do, or None."""
    georeference = "give a GeoTIFF that carries its coordinate system"
    if found.crs is None:
        return "it does not say which coordinate system it is in", georeference
    if found.transform.is_identity:
        return "it does not say where it lies", georeference
    if any(kind != "uint8" for kind in found.dtypes):
        return f"its colours are {found.dtypes[0]}, not of 8 bits", "save it with 8-bit colours"
    return None


def _has_palette(found: Any) -> bool:
    return bool(found.colorinterp[0].name == "palette")


def _has_alpha(found: Any) -> bool:
    return bool(found.count > 1 and found.colorinterp[-1].name == "alpha")
