"""A walk with a GPS receiver becomes an area or a line; hostile files become a sentence."""

import json

import numpy as np
import pytest
import shapely
from pyproj import Geod

from tests.desk.drawing import on_earth
from turfmap.desk.edit_faults import RefusedError
from turfmap.desk.walking import JITTER_M, walk
from turfmap.foundations.definitions import table

GPX = '<?xml version="1.0"?><gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">{}</gpx>'


def gpx(*corners: tuple[float, float]) -> str:
    """Write a track through places in metres."""
    lonlat = shapely.get_coordinates(on_earth(shapely.LineString(corners))).tolist()
    points = "".join(f'<trkpt lat="{lat!r}" lon="{lon!r}"/>' for lon, lat in lonlat)
    return GPX.format(f"<trk><trkseg>{points}</trkseg></trk>")


def area_m2(found: dict[str, object]) -> float:
    shape = shapely.from_geojson(json.dumps(found["shape"]))
    return abs(Geod(ellps="WGS84").geometry_area_perimeter(shape)[0])


def test_a_walk_that_comes_back_is_an_area() -> None:
    """Ends 2 m apart, or 8 m on a walk of 192 m, are one place; 12 m on it are not.

    The area is told by PROJ's geodesics, not by us.
    """
    near = walk(gpx((0, 0), (30, 0), (30, 20), (0, 20), (0, 2)))
    assert near["shape"]["type"] == "Polygon"
    assert area_m2(near) == pytest.approx(600.0, rel=0.01)
    long = walk(gpx((0, 0), (60, 0), (60, 40), (0, 40), (0, 8)))
    assert long["shape"]["type"] == "Polygon"
    short = walk(gpx((0, 0), (60, 0), (60, 40), (0, 40), (0, 12)))
    assert short["shape"]["type"] == "LineString"
    assert "12" not in short["shape"]  # told in feet, as the trade does
    assert "39." in short["notes"][0] or "39 ft" in short["notes"][0]


def test_the_margin_is_that_of_a_gps_receiver() -> None:
    found = walk(gpx((0, 0), (30, 0), (30, 20), (0, 0)))
    known = table("edge_known_by").by("edge_known_by")["gps"]
    assert found["edge_known_by"] == "gps"
    assert found["position_margin_m"] == known["position_margin_m"]


def test_play_is_dropped_and_told_and_nothing_else() -> None:
    """A point every half metre with 10 cm of play: few corners are left, none further off."""
    rng = np.random.default_rng(3)
    ring = shapely.segmentize(shapely.LineString([(0, 0), (40, 0), (40, 30), (0, 30), (0, 1)]), 0.5)
    true = shapely.get_coordinates(ring)
    found = walk(gpx(*map(tuple, true + rng.uniform(-0.1, 0.1, true.shape))))
    shape = shapely.from_geojson(json.dumps(found["shape"]))
    assert shapely.get_num_coordinates(shape) < 12
    assert found["dropped"] > 200
    assert any(str(f"{found['dropped']:,}") in note and "1 ft" in note for note in found["notes"])
    drawn = on_earth(shapely.Polygon(true))
    apart = shapely.hausdorff_distance(shapely.boundary(shape), shapely.boundary(drawn)) * 111_000
    assert apart < JITTER_M + 0.15


def test_the_longest_of_several_tracks_counts() -> None:
    one = gpx((0, 0), (5, 0)).split("<trk>")[1].split("</trk>")[0]
    other = gpx((0, 0), (50, 0), (50, 1)).split("<trk>")[1].split("</trk>")[0]
    found = walk(GPX.format(f"<trk>{one}</trk><trk>{other}</trk>"))
    assert len(found["shape"]["coordinates"]) >= 2
    assert found["notes"][0] == "1 shorter tracks were left out."


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "it is empty"),
        ("not xml", "not GPX"),
        ("<gpx><trk>", "damaged"),
        (GPX.format(""), "no waypoints, routes or tracks"),
        (GPX.format('<wpt lat="33" lon="-84"/>'), "no track or route"),
        (
            GPX.format('<trk><trkseg><trkpt lat="33" lon="-84"/></trkseg></trk>'),
            "no track or route",
        ),
        (
            GPX.format(
                '<trk><trkseg><trkpt lat="abc" lon="1"/><trkpt lat="1" lon="1"/></trkseg></trk>'
            ),
            "no track or route",
        ),
        (
            '<!DOCTYPE gpx [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><gpx>&b;</gpx>',
            "declares a document type",
        ),
        (
            '<!DOCTYPE gpx [<!ENTITY x SYSTEM "file:///etc/hostname">]><gpx>&x;</gpx>',
            "declares a document type",
        ),
        ("x" * 2_000_001, "too long"),
    ],
)
def test_hostile_and_empty_files(text: str, words: str) -> None:
    with pytest.raises(RefusedError, match=words):
        walk(text)
