"""Roads out of an extract of the open street map, written by `osmium` itself for the test."""

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
import osmium
import pytest

from turfmap.foundations.definitions import table
from turfmap.foundations.errors import InputFaultsError
from turfmap.store.road_worker import directions, limit_mph
from turfmap.store.roads import read_roads

# Nodes along a parallel, a thousandth of a degree apart: 92.9 m on the ellipsoid at 33.5 N.
LON, LAT, STEP = -83.0, 33.5, 0.001
PLACES = np.array([[LON, LAT]])
METRES_PER_SECOND_PER_MPH = 0.44704


def extract(path: Path, ways: Sequence[tuple[list[int], Mapping[str, str]]]) -> Path:
    """Write nodes 0 to 9, one far off (99), and ways between them."""
    writer = osmium.SimpleWriter(str(path), overwrite=True)
    for number in range(10):
        at = (LON + number * STEP, LAT)
        writer.add_node(osmium.osm.mutable.Node(id=number + 1, location=at))
    writer.add_node(osmium.osm.mutable.Node(id=100, location=(LON + 5.0, LAT)))
    for number, (nodes, tags) in enumerate(ways, start=1):
        ids = [node + 1 for node in nodes]
        writer.add_way(osmium.osm.mutable.Way(id=number, nodes=ids, tags=dict(tags)))
    writer.close()
    return path


def arcs(path: Path) -> set[tuple[int, int]]:
    """Return the arcs of an extract by the numbers of its nodes."""
    lon_lat, ends, _, _ = read_roads(path, PLACES)
    number = np.rint((lon_lat[:, 0] - LON) / STEP).astype(int)
    return {(int(number[here]), int(number[there])) for here, there in ends}


def test_roads_are_read_with_length_time_and_direction(tmp_path: Path) -> None:
    file = extract(
        tmp_path / "town.osm.pbf",
        [
            ([0, 1, 2], {"highway": "residential"}),
            ([2, 3], {"highway": "primary", "oneway": "yes", "maxspeed": "45 mph"}),
            ([4, 3], {"highway": "tertiary", "oneway": "-1"}),
        ],
    )
    lon_lat, ends, metres, seconds = read_roads(file, PLACES)
    assert arcs(file) == {(0, 1), (1, 0), (1, 2), (2, 1), (2, 3), (3, 4)}
    assert len(lon_lat) == 5
    assert metres == pytest.approx(92.9, abs=0.1)
    mph = metres / seconds / METRES_PER_SECOND_PER_MPH
    speeds = {row["road"]: row["value"] for row in table("road_speed").rows}
    wanted = [speeds["residential"]] * 4 + [45 * speeds["posted_share"], speeds["tertiary"]]
    assert mph == pytest.approx(wanted)
    assert ends.shape == (6, 2)


@pytest.mark.parametrize(
    "tags",
    [
        {"highway": "footway"},
        {"highway": "proposed"},
        {"waterway": "stream"},
        {"highway": "service", "access": "private"},
        {"highway": "residential", "motor_vehicle": "no"},
        {"highway": "service", "area": "yes"},
    ],
)
def test_ways_that_no_truck_drives_on_are_left_out(tmp_path: Path, tags: dict[str, str]) -> None:
    file = extract(tmp_path / "a.osm.pbf", [([0, 1], {"highway": "road"}), ([1, 2], tags)])
    assert arcs(file) == {(0, 1), (1, 0)}


def test_roads_far_from_every_place_are_left_out(tmp_path: Path) -> None:
    file = extract(tmp_path / "a.osm.pbf", [([0, 1, 99], {"highway": "residential"})])
    assert arcs(file) == {(0, 1), (1, 0)}


@pytest.mark.parametrize(
    ("text", "mph"),
    [
        ("30 mph", 30.0),
        ("50", 31.0686),
        ("30mph", 30.0),
        ("RO:urban", None),
        ("", None),
        ("0", None),
    ],
)
def test_posted_limits_are_read(text: str, mph: float | None) -> None:
    """A number without a unit is in km/h (the map's own page on the key maxspeed)."""
    assert limit_mph(text) == (None if mph is None else pytest.approx(mph, abs=1e-3))


def test_roundabouts_and_motorways_are_one_way_unless_tagged() -> None:
    assert directions({"junction": "roundabout"}) == (True, False)
    assert directions({"highway": "motorway"}) == (True, False)
    assert directions({"highway": "motorway", "oneway": "no"}) == (True, True)


def test_what_is_no_extract_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("x")
    (tmp_path / "b.osm.pbf").write_bytes(b"not a map")
    for name in ("none.osm.pbf", "a.txt", "b.osm.pbf"):
        with pytest.raises(InputFaultsError) as caught:
            read_roads(tmp_path / name, PLACES)
        assert name in str(caught.value)


def test_a_place_that_is_not_on_earth_is_refused_in_one_sentence(tmp_path: Path) -> None:
    file = tmp_path / "off.osm"
    file.write_text(
        '<osm version="0.6"><node id="1" lat="999" lon="-83.0"/><node id="2" lat="33.5" lon="-83"/>'
        '<way id="1"><nd ref="1"/><nd ref="2"/><tag k="highway" v="residential"/></way></osm>',
        encoding="utf-8",
    )
    with pytest.raises(InputFaultsError, match="cannot be read as an extract"):
        read_roads(file, PLACES)
