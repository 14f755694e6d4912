"""Conversion to longitude and latitude, against published worked examples."""

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from pyproj import Geod

from turfmap.foundations.errors import InputFaultsError
from turfmap.store.foreign.crs import convert, named_crs

CLARKE_1866_UNKNOWN = (
    'GEOGCS["Old survey",DATUM["Unknown",SPHEROID["Clarke 1866",6378206.4,294.978698213898]],'
    'PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]]'
)


def points(*positions: tuple[float, float]) -> NDArray[np.object_]:
    return np.array([shapely.Point(*position) for position in positions], dtype=object)


@pytest.mark.parametrize(
    ("projected", "position", "geographic", "lonlat"),
    [
        # EPSG guidance note 7-2, Lambert conic conformal (2SP), NAD27 / Texas South Central,
        # US survey feet: 28°30' N, 96° W.
        ("EPSG:32040", (2963503.91, 254759.80), "EPSG:4267", (-96.0, 28.5)),
        # EPSG guidance note 7-2, transverse Mercator, OSGB36 / British National Grid:
        # 50°30' N, 0°30' E.
        ("EPSG:27700", (577274.99, 69740.50), "EPSG:4277", (0.5, 50.5)),
        # EPSG guidance note 7-2, popular visualisation pseudo-Mercator: 24°22'54.433" N,
        # 100°20' W (this one from memory, not read).
        ("EPSG:3857", (-11169055.58, 2800000.00), "EPSG:4326", (-100 - 20 / 60, 24.38178694)),
    ],
)
def test_projections_give_the_published_positions(
    projected: str, position: tuple[float, float], geographic: str, lonlat: tuple[float, float]
) -> None:
    """Both ways end on WGS 84, so the datum shift falls out; the examples are told to 1 cm."""
    (found,), _ = convert(points(position), named_crs(projected))
    (expected,), _ = convert(points(lonlat), named_crs(geographic))
    _, _, off_m = Geod(ellps="WGS84").inv(found.x, found.y, expected.x, expected.y)
    assert off_m < 0.02


def test_lonlat_is_left_alone_without_a_word() -> None:
    given = points((-84.0, 33.0))
    for name in ("EPSG:4326", "4326", "OGC:CRS84", "EPSG:4979"):
        converted, note = convert(given, named_crs(name))
        assert note is None
        assert converted[0] == given[0]


def test_the_datum_shift_is_applied_and_its_accuracy_told() -> None:
    (moved,), note = convert(points((-84.0, 33.0)), named_crs("EPSG:4267"))
    _, _, shift_m = Geod(ellps="WGS84").inv(-84.0, 33.0, moved.x, moved.y)
    # NAD27 lies about 20 m from NAD83 in Georgia (from memory, not read); 10 m is what the
    # register gives for the way without grids (EPSG:1173, NAD27 to WGS 84 (4)).
    assert 5 < shift_m < 40
    assert note is not None
    assert note.startswith("Warning: ")
    assert " m" in note
    _, same_datum = convert(points((500_000, 3_700_000)), named_crs("EPSG:32616"))
    assert same_datum is not None
    assert "(0 m)" in same_datum
    assert "Warning" not in same_datum


def test_an_unknown_datum_is_a_warning_in_metres() -> None:
    _, note = convert(points((-84.0, 33.0)), named_crs(CLARKE_1866_UNKNOWN))
    assert note is not None
    assert note.startswith("Warning: ")
    assert "500 m" in note


def test_places_outside_the_systems_area_are_a_warning() -> None:
    """Metres given for US survey feet, as a wrong guess would."""
    inside, _ = convert(points((2_200_000, 1_300_000)), named_crs("EPSG:2240"))
    assert -86 < inside[0].x < -82
    _, note = convert(points((670_560, 396_240)), named_crs("EPSG:2240"))
    assert note is not None
    assert "outside the area" in note
    # NAD83's area crosses the antimeridian (the Aleutians).
    for lon, outside in ((-84.0, False), (179.5, False), (10.0, True)):
        _, note = convert(points((lon, 52.0)), named_crs("EPSG:4269"))
        assert note is not None
        assert ("outside the area" in note) is outside


def test_long_edges_keep_the_course_they_have_in_their_own_system() -> None:
    """A 10 km edge of a state plane sags 1 m if only its ends are converted."""
    ends = [(2_200_000.0, 1_300_000.0), (2_232_808.0, 1_300_000.0)]
    middle = (np.mean([x for x, _ in ends]).item(), ends[0][1])
    shapes = np.array([shapely.LineString(ends), shapely.Point(middle)], dtype=object)
    (line, point), _ = convert(shapes, named_crs("EPSG:2240"))
    assert line.distance(point) * 111_000 < 0.005
    chord = shapely.LineString([line.coords[0], line.coords[-1]])
    assert chord.distance(point) * 111_000 > 0.5


@pytest.mark.parametrize("text", ["", "EPSG:1", "metres", "EPSG:4978", "EPSG:5703", "\x00"])
def test_what_is_no_map_system_is_refused(text: str) -> None:
    with pytest.raises(InputFaultsError, match="--crs EPSG:nnnn"):
        named_crs(text)


def test_missing_shapes_stay_missing() -> None:
    shapes = np.array([None, shapely.Point(0, 0)], dtype=object)
    converted, _ = convert(shapes, named_crs("EPSG:3857"))
    assert converted[0] is None
    assert shapes[1] == shapely.Point(0, 0), "the shapes given are not changed"
