"""Make a new, empty place file."""

from pathlib import Path

from turfmap.store import geopackage


def new(path: Path) -> dict[str, object]:
    """Make an empty turfmap GeoPackage.

    Raises
    ------
    InputFaultsError
        If there is a file of that name, or the folder may not be written to.
    """
    geopackage.create(path)
    return {"file": str(path)}
