"""Two properties on known ground: a bank 1.5 m high, and a crown of which the place is known.

The bank runs from north to south, 18 m east of the scene's corner, on the plane through it. Only
the first property lies on the rasters.
"""

from pathlib import Path

import numpy as np
import shapely
from pyproj import Transformer

from tests.desk.heights import heights
from tests.desk.test_bring_in import SOUTH, WEST, box, geojson
from turfmap.desk.bring_in import bring_in
from turfmap.desk.new import new
from turfmap.store.raster_windows import plane_crs

BANK_M = 18.0
CROWN = box(4.5e-4, 5e-5, 3e-4)
TO_LON_LAT = Transformer.from_crs(plane_crs(WEST, SOUTH), "EPSG:4326", always_xy=True)


def measured_place(folder: Path) -> Path:
    """Make the place and, beside it, ``bank.tif`` and ``level.tif``; return the place."""
    path = folder / "place.gpkg"
    new(path)
    lawn = {"kind": "turf", "species": "bermuda", "shade": "full_sun"}
    alder, birch = {"name": "Alder"}, {"name": "Birch"}
    features: dict[str, list[tuple[shapely.Geometry, dict[str, object]]]] = {
        "property": [(box(0, 0, 1e-3), {**alder}), (box(0.02, 0, 1e-3), {**birch})],
        "zone": [
            (box(0, 0), {"name": "Front", **lawn}),
            (box(4e-4, 0), {"name": "Side", **lawn}),
            (box(0.02, 0), {"name": "Green", **lawn}),
        ],
        "canopy": [(CROWN, {"name": "Oaks", "height_m": 15.0, "deciduous": False})],
    }
    for layer, drawn in features.items():
        bring_in(path, geojson(folder / f"{layer}.geojson", *drawn), layer_name=layer)
    bank = np.zeros((660, 660), np.float32)
    bank[:, 330 + int(BANK_M) :] = 1.5
    heights(folder / "bank.tif", bumps=bank)
    heights(folder / "level.tif")
    return path
