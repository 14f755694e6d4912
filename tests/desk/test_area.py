"""Areas of a place: what protects what, how far, and what must be said."""

from pathlib import Path
from typing import Any

import pytest
import shapely

from tests.desk.test_bring_in import SOUTH, WEST, box, geojson
from turfmap.desk.area import area
from turfmap.desk.bring_in import bring_in
from turfmap.desk.new import new
from turfmap.desk.nospray import nospray
from turfmap.desk.protected import Overrides
from turfmap.foundations.errors import InputFaultsError

FOOT_M = 0.3048
PLAIN = Overrides({})
NO_MARGIN = Overrides({}, margin_m=0.0)
POND = shapely.box(WEST - 2e-4, SOUTH, WEST - 1e-5, SOUTH + 4e-4)


@pytest.fixture
def place(tmp_path: Path) -> Path:
    path = tmp_path / "place.gpkg"
    new(path)
    files = {
        "property": (box(0, 0, 1e-3), {"name": "Alder", "water_surveyed_on": "2026-01-05"}),
        "zone": (box(0, 0), {"name": "Front", "kind": "turf"}),
        "water": (POND, {"name": "Mill pond", "kind": "pond"}),
    }
    for layer, feature in files.items():
        bring_in(path, geojson(tmp_path / f"{layer}.geojson", feature), layer_name=layer)
    return path


def only_zone(path: Path, overrides: Overrides, product: str | None = None) -> dict[str, Any]:
    (zone,) = area(path, property_name=None, product=product, overrides=overrides)["zones"]
    return dict(zone)


def test_the_margin_of_an_edge_is_added_unless_one_is_given(place: Path) -> None:
    """An edge of unknown origin has the margin of the table; --margin 0ft takes it away."""
    usual = only_zone(place, PLAIN)["causes"]
    bare = only_zone(place, NO_MARGIN)["causes"]
    assert (usual[0]["margin_m"], bare[0]["margin_m"]) == (3.0, 0.0)
    assert usual[0]["distance_m"] == bare[0]["distance_m"] == pytest.approx(25 * FOOT_M)
    assert usual[0]["lost_m2"] > bare[0]["lost_m2"]


def test_setbacks_for_one_run_and_for_a_product(place: Path) -> None:
    given = only_zone(place, Overrides({"pond": 4 * FOOT_M}, margin_m=0.0))["causes"]
    assert given[0]["distance_m"] == pytest.approx(4 * FOOT_M)
    atrazine = only_zone(place, NO_MARGIN, product="atrazine")
    assert atrazine["treatable_m2"] == 0.0
    with pytest.raises(InputFaultsError, match="no product or active ingredient"):
        only_zone(place, PLAIN, product="moonshine")


def test_water_and_paving_drawn_as_zones_act_on_their_neighbours(
    place: Path, tmp_path: Path
) -> None:
    """A pond drawn as a zone is kept clear of, a terrace takes ground; both are not treated."""
    zones = geojson(
        tmp_path / "more.geojson",
        (box(4.2e-4, 0, 1e-4), {"name": "Pool of water", "kind": "water"}),
        (box(1e-4, 3e-4, 2e-4), {"name": "Terrace", "kind": "hard"}),
    )
    before = only_zone(place, NO_MARGIN)
    bring_in(place, zones, layer_name="zone")
    found = area(place, property_name=None, product=None, overrides=NO_MARGIN)["zones"]
    front, pool, terrace = found
    assert front["obstacle_m2"] > 0.0
    assert front["no_spray_m2"] > before["no_spray_m2"]
    assert pool["treatable_m2"] == terrace["treatable_m2"] == 0.0
    assert "Pool of water" in [cause["name"] for cause in front["causes"]]
    for zone in found:
        parts = zone["obstacle_m2"] + zone["no_spray_m2"] + zone["treatable_m2"]
        assert parts == pytest.approx(zone["gross_m2"], rel=1e-9)


def test_unknowns_are_said_and_never_mean_less_care(place: Path, tmp_path: Path) -> None:
    found = area(place, property_name=None, product=None, overrides=PLAIN)
    said = " ".join(found["cautions"])
    assert "No product was named" in said
    assert "not verified" in said
    assert "last looked for" not in said  # Alder was looked over on 5 January
    lot = geojson(tmp_path / "birch.geojson", (box(0.01, 0, 1e-3), {"name": "Birch"}))
    bring_in(place, lot, layer_name="property")
    found = area(place, property_name=None, product=None, overrides=PLAIN)
    assert "last looked for at Birch" in " ".join(found["cautions"])


def test_the_no_spray_file_covers_what_it_says(place: Path, tmp_path: Path) -> None:
    """Written shapes take exactly the ground that the areas say, read back by another reader."""
    out = tmp_path / "no-spray.geojson"
    result = nospray(place, out=out, property_name=None, product=None, overrides=NO_MARGIN)
    (feature,) = shapely.get_parts(shapely.from_geojson(out.read_text("utf-8")))
    front = box(0, 0)
    share = shapely.intersection(front, feature).area / front.area
    zone = only_zone(place, NO_MARGIN)
    assert zone["no_spray_m2"] == pytest.approx(share * zone["gross_m2"], rel=1e-5)
    assert result["features"][0]["lost_m2"] == pytest.approx(zone["no_spray_m2"])


def test_one_property_alone_has_the_same_figures_as_among_all(place: Path, tmp_path: Path) -> None:
    """A neighbour's bed drawn over the line owns its ground, asked for or not."""
    lot = geojson(tmp_path / "next.geojson", (box(1e-3, 0, 1e-3), {"name": "Birch"}))
    bring_in(place, lot, layer_name="property")
    bed = geojson(
        tmp_path / "bed.geojson",
        (box(3.5e-4, 0, 2e-4), {"name": "Border", "kind": "bed", "property": "Birch"}),
    )
    bring_in(place, bed, layer_name="zone")
    everything = area(place, property_name=None, product=None, overrides=PLAIN)["zones"]
    alone = area(place, property_name="Alder", product=None, overrides=PLAIN)["zones"]
    assert alone == [zone for zone in everything if zone["property"] == "Alder"]
    assert alone[0]["shared_m2"] > 100.0
