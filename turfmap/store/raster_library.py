"""The library that reads rasters, imported when it is asked for: most runs never need it."""

from importlib import import_module
from typing import Any

from turfmap.foundations.errors import input_fault

# Memory that GDAL may hold for blocks that it has read [MB].
_CACHE_MB = 64


def raster_library() -> Any:
    """Return rasterio with the parts that are used.

    Raises
    ------
    InputFaultsError
        If it is not installed.
    """
    try:
        library = import_module("rasterio")
        for part in ("enums", "features", "vrt"):
            import_module(f"rasterio.{part}")
    except ImportError:
        raise input_fault(
            "rasters need the library rasterio",
            "install turfmap with its extra: pip install turfmap[picture]",
        ) from None
    return library


def bounded(library: Any) -> Any:
    """Return the environment in which rasters are read: little memory, nothing fetched."""
    return library.Env(
        GDAL_CACHEMAX=_CACHE_MB, GDAL_HTTP_MAX_RETRY="0", CPL_VSIL_CURL_ALLOWED_EXTENSIONS=".none"
    )
