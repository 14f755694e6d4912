"""Positions on a place: states, rounding towards the edge, coarse, far and unsurveyed."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pyproj import Geod

from tests.desk.checking import PLAIN, POND, make_place
from tests.desk.test_bring_in import SOUTH, WEST
from turfmap.desk.here import Position, here, here_inputs, read_track, stand
from turfmap.foundations.errors import InputFaultsError

FOOT_M = 0.3048
MIDDLE = SOUTH + 2e-4


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a place of which everything is known; no test changes it."""
    return make_place(tmp_path_factory.mktemp("here"))


def told(path: Path, east: float, accuracy_m: float | None = 0.0) -> dict[str, Any]:
    spot = Position(WEST + east, MIDDLE, accuracy_m)
    (one,) = here(path, [spot], product="Clover spray", overrides=PLAIN)["positions"]
    return dict(one)


def edge_m(east: float) -> float:
    """Return the geodesic distance to the edge of no-spray ground: 25 ft and 3 m from the pond."""
    shore = POND.bounds[2]
    _, _, apart_m = Geod(ellps="WGS84").inv(shore, MIDDLE, WEST + east, MIDDLE)
    return float(apart_m) - (25 * FOOT_M + 3.0)


@pytest.mark.parametrize("east", np.linspace(-5e-6, 3e-4, 12))
def test_the_distance_is_rounded_towards_the_edge(place: Path, east: float) -> None:
    """Floor outside, ceil inside: nobody is told a foot too much."""
    one, apart_m = told(place, east), edge_m(east)
    over_m = 0.012  # the ground is drawn 0.07 % too wide, and both ways of measuring differ by mm
    assert one["is_inside"] == (apart_m < 0.0)
    feet = abs(apart_m) / FOOT_M
    if one["is_inside"]:
        assert feet - over_m / FOOT_M <= one["distance_ft"] < feet + 1 + over_m / FOOT_M
        assert one["direction"] == "east"
        assert "inside" in one["distance_words"]
    else:
        assert feet - 1 - over_m / FOOT_M < one["distance_ft"] <= feet + over_m / FOOT_M
        assert one["direction"] == "west"
    assert one["reason"] == "pond: Mill pond, 25 ft setback and 9.8 ft position margin"


def test_the_words_say_stop_unsure_or_outside(place: Path) -> None:
    assert told(place, -5e-6)["words"] == "STOP: inside no-spray"
    assert told(place, 1.1e-4, 5.0)["words"] == "UNSURE: edge within position error"
    assert told(place, 3e-4, 5.0)["words"] == "Outside no-spray"
    assert told(place, 3e-4, None)["state"] == "unsure"
    assert told(place, 3e-4, 5.0)["zone"] == "Front"
    assert told(place, 5e-4, 5.0)["zone"] is None
    assert told(place, 5e-4, 5.0)["state"] == "outside"  # on the lot, between its zones


def test_a_coarse_position_gets_no_number_and_no_zone(place: Path) -> None:
    """Prototype finding: with 2 km accuracy a page still printed a zone and 74 ft."""
    fine, coarse = told(place, 3e-4, 30.0), told(place, 3e-4, 30.1)
    assert fine["distance_ft"] is not None
    assert coarse["state"] == "unsure"
    assert [coarse[name] for name in ("distance_ft", "distance_m", "zone", "direction")] == [
        None
    ] * 4


def test_far_from_every_property_nothing_is_known(place: Path) -> None:
    assert told(place, 0.5)["state"] == "unsure"
    inputs = here_inputs(place, property_name="Alder", product="Clover spray", overrides=PLAIN)
    east = inputs.box[2]
    near, far = (Position(east + away, MIDDLE, 3.0) for away in (1.5e-3, 1.7e-3))  # 140 and 159 m
    # Nobody has looked at the neighbour's ground: the crew page says unsure there too.
    found = stand([near, far], inputs)
    assert [one["state"] for one in found] == ["unsure", "unsure"]
    assert "outside this property" in found[0]["words"]
    assert "too far" in found[1]["words"]


def test_nobody_looked_is_unsure_and_stop_stays_stop(tmp_path: Path) -> None:
    path = make_place(tmp_path, known=False)
    assert told(path, 3e-4, 1.0)["words"] == "UNSURE: not surveyed, what is near is unknown"
    assert told(path, -5e-6)["state"] == "stop"


def test_a_track_is_read_in_its_order_and_a_broken_one_refused(tmp_path: Path) -> None:
    file = tmp_path / "walk.gpx"
    points = "".join(f'<trkpt lat="{MIDDLE}" lon="{WEST + n * 1e-4}"/>' for n in range(4))
    head = '<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>'
    file.write_text(f"{head}{points}</trkseg></trk></gpx>", encoding="utf-8")
    found = read_track(file)
    assert [lon for lon, _ in found] == pytest.approx([WEST + n * 1e-4 for n in range(4)])
    file.write_text(f'{head}<trkpt lat="abc" lon="1"/>{points}</trkseg></trk></gpx>', "utf-8")
    with pytest.raises(InputFaultsError):
        read_track(file)
