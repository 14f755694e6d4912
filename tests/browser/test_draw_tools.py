"""Every tool of the drawing page, with the real server before a real file."""

import re
from pathlib import Path
from typing import Any

import pytest
import shapely
from pyproj import Geod
from shapely.geometry import shape

from tests.browser.drawn_place import Drawing, place_of, put, stored

GEOD = Geod(ellps="WGS84")
PICTURES = Path(__file__).parents[1] / "out"
BARE = [(20.0, 80.0), (60.0, 80.0), (60.0, 130.0), (20.0, 130.0)]


def ground_m2(geometry: dict[str, Any]) -> float:
    """Return an area by geodesics, which the page does not use (Karney 2013, in pyproj)."""
    return abs(GEOD.geometry_area_perimeter(shape(geometry))[0])


def shot(drawing: Drawing, name: str) -> None:
    PICTURES.mkdir(exist_ok=True)
    width = "phone" if drawing.is_phone else "wide"
    drawing.page.screenshot(path=PICTURES / f"draw-{name}-{width}.png")


def test_a_zone_is_drawn_tagged_and_saved_and_its_area_is_told(
    drawing: Drawing, place: Path
) -> None:
    shot(drawing, "rest")
    drawing.press("Zones")
    for corner in BARE:
        drawing.touch(*corner)
    shot(drawing, "drawing")
    drawing.press("Finish")
    size = drawing.page.locator("#hand-size").inner_text()
    told_sq_ft = float(size.split(" sq ft")[0].replace(",", ""))
    drawing.tag("Name, needed", "Orchard grass")
    drawing.tag("Kind, needed", "turf")
    drawing.measured()
    assert "Treatable" in drawing.page.locator("#hand-treatable").inner_text()
    shot(drawing, "tagging")
    drawing.save()
    saved = stored(place, "zone")["Orchard grass"]
    area_m2 = ground_m2(saved["geometry"])
    assert area_m2 == pytest.approx(40 * 50, rel=0.04)  # as far as a pixel can be hit
    assert told_sq_ft == pytest.approx(area_m2 / 0.3048**2, abs=0.51)
    assert f"{area_m2 / 0.3048**2 / 43560:.2f} ac" in size
    assert saved["properties"]["kind"] == "turf"
    drawing.press("Close")
    assert drawing.page.get_by_role("row", name="Orchard grass").count() == 1


LAYERS = {
    "Water and wells": ("water", "Area", {"Name, needed": "Basin", "Kind, needed": "pond"}),
    "Sensitive sites": ("sensitive_site", "Point", {"Name, needed": "Hives", "Kind, needed": ""}),
    "Obstacles": ("obstacle", "Line", {"Name, needed": "Drive"}),
    "Canopy": ("canopy", "Point", {"Name, needed": "Oak"}),
    "Gates": ("gate", "", {"Name, needed": "Field gate"}),
    "Properties": ("property", "", {"Name, needed": "Next door"}),
}
SHAPES = {"Area": "Polygon", "Line": "LineString", "Point": "Point", "": ""}


def test_everything_else_is_drawn_too_as_area_line_or_point(wide: Drawing, place: Path) -> None:
    for title, (layer, kind, tags) in LAYERS.items():
        wide.press(title)
        if kind:
            wide.press(kind)
        corners = BARE if layer != "property" else [(210, 0), (250, 0), (250, 60), (210, 60)]
        if layer == "property":
            wide.see(200, 30, 18)  # beyond what is drawn so far
        is_point = kind == "Point" or layer == "gate"
        for corner in corners[: 1 if is_point else None]:
            wide.touch(*corner)
        if not is_point:
            wide.press("Finish")
        for label, value in tags.items():
            if value:
                wide.tag(label, value)
            else:
                wide.page.get_by_label(label).select_option(index=1)
        wide.save()
        wide.press("Close")
        saved = stored(place, layer)[tags["Name, needed"]]
        assert SHAPES[kind] in saved["geometry"]["type"]


# How well the edge is known matters for what others must keep clear of.
def test_water_is_asked_how_well_its_edge_is_known(wide: Drawing, place: Path) -> None:
    wide.choose("Mill pond")
    wide.measured()
    assert "How the edge was found" in wide.page.locator("#tags-first").inner_text()
    assert "how the edge was found" in wide.page.locator("#hand-faults").inner_text()
    wide.tag("Position margin (ft)", "10")
    wide.save()
    margin = stored(place, "water")["Mill pond"]["properties"]["position_margin_m"]
    assert margin == pytest.approx(3.048)  # 10 ft of 0.3048 m (NIST SP 811, B.8)


def test_what_a_buffer_takes_from_a_neighbour_is_told_while_it_is_drawn(wide: Drawing) -> None:
    wide.draw("Water and wells", [(60, 61), (80, 61), (80, 75), (60, 75)])
    wide.tag("Kind, needed", "pond")
    wide.until("#hand-told", "less to treat")
    told = wide.page.locator("#hand-told").inner_text()
    assert re.search(r"Front lawn: [\d,]+ sq ft less to treat, [\d,]+ sq ft left", told)
    # The black hatching of that ground lies on the map.
    assert wide.page.locator(".leaflet-keeping_off-pane canvas").count() == 1


def rings(geometry: dict[str, Any]) -> list[list[tuple[float, float]]]:
    polygons = geometry["coordinates"]
    if geometry["type"] == "Polygon":
        polygons = [polygons]
    return [[(x, y) for x, y in ring] for polygon_ in polygons for ring in polygon_]


def test_corners_snap_to_corners_and_edges_so_that_zones_share_them(
    wide: Drawing, place: Path
) -> None:
    wide.see(50, 60, 19)
    wide.draw("Zones", [(10.8, 61), (50, 60.9), (89.3, 60.8), (80, 78), (20, 78)])
    wide.tag("Name, needed", "Between")
    wide.tag("Kind, needed", "turf")
    wide.save()
    zones = stored(place, "zone")
    (between,), (front,) = (rings(zones[name]["geometry"]) for name in ("Between", "Front lawn"))
    assert len(set(between) & set(front)) == 2
    edge = shapely.LineString([place_of((10, 60)), place_of((90, 60))])
    nearest = sorted(edge.distance(shapely.Point(at)) for at in set(between))[:3]
    assert nearest[2] * 111_000 < 0.001


def test_a_corner_is_dragged_and_the_area_follows(drawing: Drawing, place: Path) -> None:
    drawing.choose("Side lawn")
    drawing.see(140, 50, 19)
    drawing.drag((150, 60), (158, 66))
    assert drawing.page.locator("#save-state").inner_text() == "Not saved yet"
    size = drawing.page.locator("#hand-size").inner_text()
    drawing.measured()
    shot(drawing, "corner")
    drawing.save()
    geometry = stored(place, "zone")["Side lawn"]["geometry"]
    corners = shapely.get_coordinates(shape(geometry))
    lng, lat = place_of((158, 66))
    moved = min(GEOD.inv(lng, lat, x, y)[2] for x, y in corners.tolist())
    assert moved < 0.6  # two pixels at this zoom
    assert f"{ground_m2(geometry) / 0.3048**2:,.0f} sq ft" in size


def test_a_hole_is_cut_and_filled_again(drawing: Drawing, place: Path) -> None:
    drawing.choose("Front lawn")
    drawing.press("Cut a hole")
    for corner in [(30, 25), (50, 25), (40, 45)]:
        drawing.touch(*corner)
    drawing.press("Finish")
    drawing.said("hole cut")
    drawing.save()
    geometry = stored(place, "zone")["Front lawn"]["geometry"]
    assert len(rings(geometry)) == 2
    assert ground_m2(geometry) == pytest.approx(80 * 50 - 200, rel=0.01)
    drawing.press("Fill holes")
    drawing.save()
    assert len(rings(stored(place, "zone")["Front lawn"]["geometry"])) == 1


def test_a_hole_that_is_not_inside_is_refused_in_words(wide: Drawing) -> None:
    wide.choose("Front lawn")
    wide.press("Cut a hole")
    for corner in [(30, 25), (50, 25), (40, 64)]:
        wide.touch(*corner)
    wide.press("Finish")
    wide.said("No hole was cut")


def test_split_merge_delete_and_back_again_with_the_same_ids(drawing: Drawing, place: Path) -> None:
    whole = stored(place, "zone")["Front lawn"]
    drawing.choose("Front lawn")
    drawing.press("Split")
    drawing.touch(40, 8)
    drawing.touch(40, 63)
    drawing.press("Finish")
    drawing.said("Split into 2 parts and saved")
    parts = stored(place, "zone")
    assert parts["Front lawn"]["id"] == whole["id"]
    areas = [ground_m2(parts[name]["geometry"]) for name in ("Front lawn", "Front lawn 2")]
    assert sum(areas) == pytest.approx(ground_m2(whole["geometry"]), rel=1e-6)
    drawing.press("Merge")
    drawing.page.get_by_label("Front lawn 2").check()
    drawing.press("Merge and save")
    drawing.said("Merged and saved")
    merged = stored(place, "zone")
    assert "Front lawn 2" not in merged
    both = [shape(one["geometry"]) for one in (merged["Front lawn"], whole)]
    assert both[0].symmetric_difference(both[1]).area * 111_000**2 < 0.1
    drawing.press("Delete")
    drawing.said("Deleted Front lawn")
    assert "Front lawn" not in stored(place, "zone")
    for undone in ("deleting", "merging", "splitting"):
        drawing.press("Undo")
        drawing.said(f"Taken back and saved: {undone}")
    back = stored(place, "zone")
    assert set(back) == {"Front lawn", "Side lawn"}
    assert back["Front lawn"]["etag"] == whole["etag"]
    drawing.press("Redo")
    drawing.said("Done again and saved: splitting")
    again = stored(place, "zone")
    assert again["Front lawn 2"]["id"] == parts["Front lawn 2"]["id"]


def test_a_line_that_does_not_cross_splits_nothing(wide: Drawing, place: Path) -> None:
    wide.choose("Front lawn")
    wide.press("Split")
    wide.touch(20, 20)
    wide.touch(70, 50)
    wide.press("Finish")
    wide.told("side to side")
    assert set(stored(place, "zone")) == {"Front lawn", "Side lawn"}


def test_ground_that_two_zones_claim_is_given_to_one_of_them(wide: Drawing, place: Path) -> None:
    wide.draw("Zones", [(20, 40), (80, 40), (80, 90), (20, 90)])
    wide.tag("Name, needed", "Claimed")
    wide.tag("Kind, needed", "turf")
    wide.until("#hand-faults .fault")
    wide.press("Save")
    wide.told("Not saved")
    assert "Claimed" not in stored(place, "zone")
    shot(wide, "overlap")
    wide.press("Cut mine")
    wide.until("#hand-faults .fault", is_gone=True)
    wide.save()
    zones = stored(place, "zone")
    claimed, front = (shape(zones[name]["geometry"]) for name in ("Claimed", "Front lawn"))
    assert claimed.intersection(front).area * 111_000**2 < 0.01
    assert ground_m2(zones["Claimed"]["geometry"]) == pytest.approx(60 * 30, rel=0.02)
    wide.press("Undo")
    wide.said("Taken back and saved")
    assert "Claimed" not in stored(place, "zone")


def test_the_other_may_be_cut_or_both_kept_instead(wide: Drawing, place: Path) -> None:
    wide.draw("Zones", [(20, 40), (80, 40), (80, 90), (20, 90)])
    wide.tag("Name, needed", "Claimed")
    wide.tag("Kind, needed", "turf")
    wide.press("Cut Front lawn")
    wide.until("#hand-faults .fault", is_gone=True)
    wide.press("Undo")  # nothing is saved yet: the giving is taken back
    wide.until("#hand-faults .fault")
    wide.press("Cut Front lawn")
    wide.until("#hand-faults .fault", is_gone=True)
    wide.save()
    zones = stored(place, "zone")
    assert ground_m2(zones["Claimed"]["geometry"]) == pytest.approx(60 * 50, rel=0.02)
    assert ground_m2(zones["Front lawn"]["geometry"]) == pytest.approx(80 * 50 - 60 * 20, rel=0.02)
    wide.press("Close")
    wide.draw("Zones", [(100, 40), (140, 40), (140, 75), (100, 75)])
    wide.tag("Name, needed", "Kept")
    wide.tag("Kind, needed", "turf")
    wide.press("Save as drawn")
    wide.said("Saved")
    assert "Kept" in stored(place, "zone")


def test_overlaps_and_gaps_are_listed_and_mended_by_one_press(
    drawing: Drawing, place: Path
) -> None:
    put(
        place,
        "Sliver side",
        "zone",
        [(90, 60.2), (150, 60.2), (150, 75), (90, 75)],
        {"kind": "turf"},
    )
    put(place, "On top", "zone", [(15, 55), (60, 55), (60, 75), (15, 75)], {"kind": "turf"})
    drawing.page.reload()
    drawing.ready()
    drawing.press("Overlaps and gaps")
    rows = drawing.page.locator(".odd li")
    drawing.until(".odd li:nth-of-type(2)")
    shot(drawing, "odd")
    rows.filter(has_text="both claim").get_by_role("button", name="Give it to Front lawn").click()
    drawing.said("Mended and saved")
    rows.filter(has_text="belongs to none").get_by_role(
        "button", name="Close it with"
    ).first.click()
    drawing.until("#panel", "No zones overlap")
    zones = {name: shape(one["geometry"]) for name, one in stored(place, "zone").items()}
    assert zones["On top"].intersection(zones["Front lawn"]).area * 111_000**2 < 0.01
    assert zones["Sliver side"].distance(zones["Side lawn"]) * 111_000 < 0.001


GPX = """<?xml version="1.0"?><gpx version="1.1" creator="test"
 xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>{}</trkseg></trk></gpx>"""


def test_an_edge_is_walked(wide: Drawing, place: Path) -> None:
    walked = [place_of(at) for at in (*BARE, BARE[0])]
    points = "".join(f'<trkpt lat="{lat}" lon="{lng}"/>' for lng, lat in walked)
    wide.press("From a walk (GPX)")
    wide.page.get_by_label("What you walked round").select_option("water")
    wide.page.get_by_label("GPX file").set_input_files(
        {
            "name": "edge.gpx",
            "mimeType": "application/gpx+xml",
            "buffer": GPX.format(points).encode(),
        }
    )
    wide.said("The walk is drawn, not saved yet")
    wide.tag("Name, needed", "Walked basin")
    wide.tag("Kind, needed", "pond")
    wide.save()
    saved = stored(place, "water")["Walked basin"]
    assert saved["properties"]["edge_known_by"] == "gps"
    assert ground_m2(saved["geometry"]) == pytest.approx(40 * 50, rel=0.01)


def test_colours_follow_a_save_and_only_what_changed_is_asked_for(
    wide: Drawing, place: Path
) -> None:
    wide.press("Look")
    before = wide.page.locator("#list-table tr").filter(has_text="Front lawn").inner_text()
    assert "Nothing due" not in before
    wide.press("Draw")
    wide.choose("Front lawn")
    wide.requests.clear()
    wide.tag("Kind, needed", "hard surface")
    wide.save()
    wide.press("Close")
    wide.until("#list-table tr:has(> th, > td)", "Nothing due")
    asked = [url for url in wide.requests if "/desk/state" in url]
    assert asked
    assert all("changed=front-lawn" in url for url in asked)


def test_looking_says_what_is_due_and_leads_to_drawing(drawing: Drawing) -> None:
    drawing.press("Look")
    drawing.touch(50, 35)
    drawing.until("#panel-look h2")
    told = drawing.page.locator("#look-told").inner_text()
    shot(drawing, "look")
    assert "Front lawn" in told
    assert "Treatable" in told
    assert "Judged for 24 Sep 2026." in told
    drawing.press("Change it")
    assert drawing.page.locator("#hand-name").inner_text() == "Front lawn"


def test_metres_are_shown_to_who_wants_them(wide: Drawing, place: Path) -> None:
    wide.page.get_by_role("button", name="Show metres").click()
    wide.choose("Mill pond")
    wide.measured()
    assert "1,600 m²" in wide.page.locator("#hand-size").inner_text()
    wide.tag("Position margin (m)", "2.5")
    wide.save()
    assert stored(place, "water")["Mill pond"]["properties"]["position_margin_m"] == 2.5
