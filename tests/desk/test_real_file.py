"""A file that we did not make goes the whole way: import, area, map.

Source: the plots, buildings and streets of Bubenec, Prague (OpenStreetMap contributors, ODbL), as
the package `momepy` ships them, stored in EPSG:3857.
"""

from datetime import date
from pathlib import Path
from typing import Any

import geopandas as gpd
import momepy
import numpy as np
import pytest
import shapely

from turfmap.desk.area import area
from turfmap.desk.bring_in import bring_in
from turfmap.desk.import_batch import Source
from turfmap.desk.import_columns import Columns
from turfmap.desk.map import map_file
from turfmap.desk.new import new
from turfmap.desk.protected import Overrides

PLAIN = Overrides({"well": 10.0}, margin_m=0.0)
WELL = {"name": "A well that is not there", "kind": "well"}


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("bubenec")
    file = Path(momepy.datasets.get_path("bubenec"))
    path = folder / "bubenec.gpkg"
    new(path)

    def take(layer: str, name: str, **fixed: str) -> dict[str, Any]:
        source = Source(file, Columns(fixed=fixed), layer=layer)
        return bring_in(path, source, layer_name=name, property_name="Bubenec")

    notes = take("plots", "zone", kind="turf")["notes"]
    assert any("EPSG:3857" in note for note in notes)
    take("buildings", "obstacle", kind="building")
    take("streets", "obstacle", kind="drive", width_m="6")
    plots = gpd.read_file(file, layer="plots").to_crs(4326)
    inside = plots.geometry.iloc[10].representative_point()
    well = folder / "well.csv"
    well.write_text(f"name,kind,lon,lat\n{WELL['name']},well,{inside.x},{inside.y}\n")
    bring_in(path, Source(well), layer_name="water")
    return path


def test_parts_agree_with_an_independent_lattice_count(place: Path) -> None:
    """Points of a lattice, judged one by one in a projection of their own, count the same ground.

    The lattice stands in the national grid of the Czech Republic (EPSG:5514), its own scale taken
    from the geodesic area of the plots; two thousandths is what such a lattice can tell.
    """
    file = momepy.datasets.get_path("bubenec")
    plots = gpd.read_file(file, layer="plots").to_crs(5514)
    buildings = gpd.read_file(file, layer="buildings").to_crs(5514).union_all()
    streets = gpd.read_file(file, layer="streets").to_crs(5514).buffer(3.0).union_all()
    well = gpd.read_file(file, layer="plots").to_crs(4326).geometry.iloc[10]
    ring = gpd.GeoSeries([well.representative_point()], crs=4326).to_crs(5514).buffer(10.0).iloc[0]
    ground = plots.union_all()
    west, south, east, north = ground.bounds
    lattice = np.meshgrid(np.arange(west, east, 0.25), np.arange(south, north, 0.25))
    x, y = (side.ravel() for side in lattice)
    for shape in (ground, buildings, streets, ring):
        shapely.prepare(shape)
    inside = shapely.contains_xy(ground, x, y)
    hard = shapely.contains_xy(buildings, x, y) | shapely.contains_xy(streets, x, y)
    near = shapely.contains_xy(ring, x, y) & ~hard & inside

    zones = area(place, property_name=None, product=None, overrides=PLAIN)["zones"]
    sums = {
        part: sum(zone[f"{part}_m2"] for zone in zones)
        for part in ("gross", "obstacle", "no_spray", "treatable", "shared")
    }
    a_point_m2 = (sums["gross"] - sums["shared"]) / inside.sum()
    treatable = (inside & ~hard & ~near).sum() * a_point_m2
    assert sums["treatable"] == pytest.approx(treatable, rel=5e-4)
    assert sums["no_spray"] == pytest.approx(near.sum() * a_point_m2, rel=2e-2)
    for zone in zones:
        parts = zone["obstacle_m2"] + zone["no_spray_m2"] + zone["treatable_m2"]
        assert parts == pytest.approx(zone["gross_m2"], rel=1e-9)


def test_it_draws(place: Path, tmp_path: Path) -> None:
    out = tmp_path / "map.html"
    result = map_file(place, as_of=date(2026, 9, 24), out=out)
    assert result["zones"] > 100
    assert out.stat().st_size < 5_000_000
