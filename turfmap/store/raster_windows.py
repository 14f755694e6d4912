"""Windows of a raster on local planes: only the ground that is asked for is ever in memory."""

import warnings
from collections.abc import Sequence
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pyproj import CRS, Transformer
from pyproj.exceptions import CRSError

from turfmap.foundations.errors import InputFaultsError, input_fault
from turfmap.foundations.grid import Grid
from turfmap.store.raster_library import bounded, raster_library

# Formats whose files never name another file or an address to read (a VRT does).
DRIVERS = ("GTiff", "AAIGrid", "USGSDEM", "SRTMHGT", "DTED", "EHdr", "JP2OpenJPEG", "PNG", "JPEG")
_UNIT_NAMES = {"m": "m", "metre": "m", "meter": "m", "ft": "ft", "foot": "ft"}
_UNIT_NAMES |= {"us survey foot": "ft", "us-ft": "ft", "ftus": "ft", "metres": "m", "feet": "ft"}


class Raster:
    """A raster that knows where it lies.

    Parameters
    ----------
    path
        A GeoTIFF, or another of the formats in `DRIVERS`.
    record
        The option that named it, for sentences that refuse it.

    Raises
    ------
    InputFaultsError
        If it cannot be read, or does not say where it lies.
    """

    def __init__(self, path: Path, *, record: str = "") -> None:
        self._path, self._record = path, record
        self._rasterio = raster_library()
        self._driver = self._driver_of()
        with bounded(self._rasterio), self._open() as found:
            self._see_where_it_lies(found)
            self.bands: int = found.count
            self.taken: str | None = _taken(found.tags())
            self.is_eight_bit: bool = set(found.dtypes) == {"uint8"}
            self._nodata = found.nodata
            self._has_alpha = bool(found.count > 1 and found.colorinterp[-1].name == "alpha")
            self._band_unit = _UNIT_NAMES.get(str(found.units[0] or "").strip().lower())
            self._crs_words: str = found.crs.to_string()
            self._wkt: str = found.crs.to_wkt()
            # What a step by one column and by one row is, in the raster's own coordinates.
            a, b, _, d, e, _ = found.transform[:6]
            self._steps = np.array([a, d]), np.array([b, e])
            self._scaling = list(zip(found.scales, found.offsets, strict=True))

    @property
    def name(self) -> str:
        """The file's name, without its folder."""
        return self._path.name

    def _fault(self, problem: str, mend: str) -> InputFaultsError:
        return input_fault(problem, mend, file=str(self._path), record=self._record)

    def _driver_of(self) -> str:
        """Return which of the formats allowed here the file is in."""
        if not self._path.is_file():
            raise self._fault("there is no such file", "give a GeoTIFF")
        for driver in DRIVERS:
            with suppress(self._rasterio.errors.RasterioIOError):
                self._opened(driver).close()
                return driver
        formats = ", ".join(DRIVERS)
        raise self._fault("it cannot be read as a raster", f"give one of these formats: {formats}")

    def _opened(self, driver: str) -> Any:
        with warnings.catch_warnings():
            # That it does not say where it lies is told in a sentence.
            warnings.simplefilter("ignore", self._rasterio.errors.NotGeoreferencedWarning)
            return self._rasterio.open(self._path, driver=driver, sharing=False)

    def _open(self) -> Any:
        return self._opened(self._driver)

    def _see_where_it_lies(self, found: Any) -> None:
        if found.crs is None:
            raise self._fault(
                "it does not say which coordinate system it is in",
                "give a GeoTIFF that carries it",
            )
        if found.transform.is_identity:
            raise self._fault("it does not say where it lies", "give a GeoTIFF that does")

    def see_unit(self, unit: str) -> None:
        """See that nothing in the file speaks against the unit that the user gave for heights.

        Raises
        ------
        InputFaultsError
            If the band or the vertical coordinate system says another.
        """
        for said in (self._band_unit, _vertical_unit(self._wkt)):
            if said is not None and said != unit:
                raise self._fault(
                    f"the file itself says that its heights are in {said}, and {unit} was given",
                    f"see which is right; give --vertical-unit {said} if the file is",
                )

    def cell_m(self, lon: float, lat: float) -> float:
        """Return the side of the raster's cells near a place [m]: the shorter one, on the ground.

        Raises
        ------
        InputFaultsError
            If the place cannot be told in the raster's coordinate system.
        """
        plane = Transformer.from_crs(self._wkt, plane_crs(lon, lat), always_xy=True)
        x, y = plane.transform(0.0, 0.0, direction="INVERSE")
        to_east, to_south = self._steps
        at = np.array([x, y])
        corners = np.array([at, at + to_east, at + to_south])
        flat = np.array(plane.transform(*corners.T)).T
        sides = np.hypot(*(flat[1:] - flat[0]).T)
        if not np.isfinite(sides).all() or sides.min() <= 0.0:
            raise self._fault("its coordinate system does not reach the place", "give another")
        return float(sides.min())

    def read(self, grid: Grid, bands: Sequence[int], *, method: str) -> NDArray[np.float32]:
        """Read a window, moved onto a grid of a local plane.

        Parameters
        ----------
        grid
            The cells that are wanted.
        bands
            Which bands, counted from 1.
        method
            One of `turfmap.foundations.grid.RESAMPLING`.

        Returns
        -------
        ndarray of float32, shape (len(bands), grid.rows, grid.columns)
            Values in the file's own unit; NaN where it has none or does not reach.

        Raises
        ------
        InputFaultsError
            If the file cannot be read any more.
        """
        west_m, _, _, north_m = grid.bounds_m
        wanted = {
            "crs": plane_crs(grid.lon, grid.lat),
            "transform": self._rasterio.Affine(
                grid.cell_m, 0.0, west_m, 0.0, -grid.cell_m, north_m
            ),
            "width": grid.columns,
            "height": grid.rows,
            "resampling": self._rasterio.enums.Resampling[method],
        }
        try:
            with bounded(self._rasterio), self._open() as found:
                return self._warped(found, wanted, bands)
        except self._rasterio.errors.RasterioError:
            raise self._fault("it cannot be read any more", "see whether it is whole") from None

    def _warped(
        self, found: Any, wanted: dict[str, Any], bands: Sequence[int]
    ) -> NDArray[np.float32]:
        needs_alpha = self._nodata is None and not self._has_alpha
        with self._rasterio.vrt.WarpedVRT(found, add_alpha=needs_alpha, **wanted) as warped:
            values: NDArray[np.float32] = warped.read(list(bands)).astype(np.float32)
            seen = warped.read_masks(bands[0]) > 0
            if self._nodata is None:
                seen &= warped.read(warped.count) > 0
        for index, band in enumerate(bands):
            scale, offset = self._scaling[band - 1]
            if (scale, offset) != (1.0, 0.0):
                values[index] = values[index] * scale + offset
        values[:, ~seen] = np.nan
        values[~np.isfinite(values)] = np.nan
        return values


def plane_crs(lon: float, lat: float) -> str:
    """Return the coordinate system of a local plane of `foundations.plane`."""
    return f"+proj=tmerc +lat_0={lat!r} +lon_0={lon!r} +k=1 +ellps=WGS84 +units=m +type=crs"


def _vertical_unit(wkt: str) -> str | None:
    """Return the unit of heights that a compound or three-dimensional system states."""
    try:
        axes = CRS.from_wkt(wkt).axis_info
    except CRSError:
        return None
    up = [axis.unit_name.lower() for axis in axes if axis.direction == "up"]
    return _UNIT_NAMES.get(up[0]) if up else None


def _taken(tags: dict[str, str]) -> str | None:
    """Return the day that a TIFF's own tag 306 (DateTime, YYYY:MM:DD HH:MM:SS) names."""
    words = tags.get("TIFFTAG_DATETIME", "")[:10].replace(":", "-")
    try:
        return date.fromisoformat(words).isoformat()
    except ValueError:
        return None
