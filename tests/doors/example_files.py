"""The files that examples of the commands' help name besides what ``turfmap demo`` makes.

A user has such files of their own; the demo has none of them. Everything is invented, and lies in
and beside the demo's estate.
"""

import json
import math
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from shutil import copyfile
from typing import Any

import numpy as np
from rasterio import Affine

from tests.desk.heights import write_raster
from turfmap.store.raster_windows import plane_crs

ROOT = Path(__file__).parents[2]
# The middle of the estate; and a lot to the south of everything that is drawn.
EAST, NORTH = -82.929, 33.5207
LOT = (-82.9300, 33.5180, -82.9290, 33.5188)
LAWN = (-82.9298, 33.5182, -82.9293, 33.5186)
FORECAST = datetime(2026, 9, 14), datetime(2026, 10, 9)
VISIT = {
    "id": "5b0c2f1e8a9d4c37b6e5f4a3b2c1d0e9",
    "property": "Larkspur Hollow",
    "zones": ["Back lawn"],
    "task": "soil_test",
    "date": "2026-10-03",
    "start": "08:10",
    "end": "08:55",
    "by": "A. Crew",
}


def write_files(folder: Path) -> None:
    """Write every file into a folder."""
    lot = {"type": "Polygon", "coordinates": [[list(corner) for corner in _corners(LOT)]]}
    known = {"name": "Pine Row", "OWNER": "Client 90", "state": "GA"}
    feature = {"type": "Feature", "properties": known, "geometry": lot}
    _write_json(folder / "lots.geojson", {"type": "FeatureCollection", "features": [feature]})
    (folder / "lawns.kml").write_text(_kml(), encoding="utf-8")
    replies = "property,zone,question,answer,date,answered_on\n"
    replies += "Larkspur Hollow,Front lawn east,overseeding,none,,2026-09-24\n"
    (folder / "replies.csv").write_text(replies, encoding="utf-8")
    prices = "task,per,price\naeration,1000_sq_ft,4.00\n"
    (folder / "prices.csv").write_text(prices, encoding="utf-8")
    copyfile(ROOT / "demo" / "scenario" / "weather.csv", folder / "record.csv")
    (folder / "hours.csv").write_text("\n".join(_hours()) + "\n", encoding="utf-8")
    _write_json(folder / "visits-2026-10-03.json", [VISIT])
    _write_rasters(folder)


def _corners(box: tuple[float, float, float, float]) -> list[tuple[float, float]]:
    west, south, east, north = box
    return [(west, south), (east, south), (east, north), (west, north), (west, south)]


def _kml() -> str:
    corners = " ".join(f"{lon},{lat}" for lon, lat in _corners(LAWN))
    ring = f"<LinearRing><coordinates>{corners}</coordinates></LinearRing>"
    shape = f"<Polygon><outerBoundaryIs>{ring}</outerBoundaryIs></Polygon>"
    return (
        '<kml xmlns="http://www.opengis.net/kml/2.2"><Document>'
        f"<Placemark><name>South lawn</name>{shape}</Placemark></Document></kml>"
    )


def _hours() -> Iterator[str]:
    yield "time,air_f,rain_in,wind_mph,gust_mph"
    now, last = FORECAST
    while now < last:
        warmth = math.sin((now.hour - 8) / 24 * 2 * math.pi)
        yield f"{now.isoformat(timespec='minutes')},{68 + 8 * warmth:.1f},0,{5 + 2 * warmth:.1f},8"
        now += timedelta(hours=1)


def _write_rasters(folder: Path) -> None:
    """Write heights in cells of 4 m, a crown in the surface, and a picture in cells of 1 m."""
    grid: dict[str, Any] = {"crs": plane_crs(EAST, NORTH), "transform": _grid(4.0)}
    up, right = np.mgrid[40:-40:-1, -40:40].astype(np.float32) * 4.0
    ground = 200.0 + 0.08 * right + 0.05 * up
    surface = ground + 12.0 * (np.hypot(right + 30.0, up) < 14.0)
    for name, heights in (("ground", ground), ("surface", surface)):
        bands = heights[None].astype(np.float32)
        write_raster(folder / f"{name}.tif", bands, nodata=-9999.0, **grid)
    chance = np.random.default_rng(20260924)
    trees = (np.hypot(*np.mgrid[-160:160, -160:160]) < 60)[..., None]
    colours = np.where(trees, (45, 80, 40, 160), (70, 120, 60, 180))
    painted = colours * (1 + 0.05 * chance.normal(0, 1, trees.shape))
    picture = np.moveaxis(np.clip(painted, 1, 255).astype(np.uint8), -1, 0)
    grid["transform"] = _grid(1.0)
    write_raster(folder / "aerial.tif", picture, **grid)


def _grid(cell_m: float) -> Affine:
    return Affine(cell_m, 0.0, -160.0, 0.0, -cell_m, 160.0)


def _write_json(path: Path, content: Any) -> None:
    path.write_text(json.dumps(content), encoding="utf-8")
