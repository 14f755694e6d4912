"""Every format we read gives back the same two lawns, and says what it did to them."""

import json
import math
import sqlite3
import struct
import zipfile
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import geopandas
import momepy
import numpy as np
import pytest
import shapely

from turfmap.foundations.errors import InputFaultsError
from turfmap.store.foreign.reading import Foreign, read_foreign

# Two lawns of about 90 m × 110 m, the first with a pond in it; invented.
POND = shapely.box(-84.0006, 33.0004, -84.0004, 33.0006)
FRONT = shapely.Polygon(shapely.box(-84.001, 33.0, -84.0, 33.001).exterior, [POND.exterior])
BACK = shapely.box(-84.0, 33.0, -83.999, 33.001)
FRAME = geopandas.GeoDataFrame(
    {"Name": ["Front", "Zurück"], "kind": ["turf", None], "mow_in": [2.5, None]},
    geometry=[FRONT, BACK],
    crs=4326,
)


def by_fiona(name: str, driver: str) -> Callable[[Path], Path]:
    def write(folder: Path) -> Path:
        FRAME.to_file(folder / name, driver=driver, engine="fiona", encoding="utf-8")
        return folder / name

    return write


def zipped_shapefile(folder: Path) -> Path:
    shapes = by_fiona("lawns.shp", "ESRI Shapefile")(folder)
    with zipfile.ZipFile(folder / "lawns.zip", "w") as archive:
        for part in folder.glob("lawns.*"):
            if part.suffix != ".zip":
                archive.write(part, f"for you/{part.name}")
        archive.writestr("__MACOSX/for you/._lawns.shp", b"a desktop's shadow")
    shapes.unlink()
    return folder / "lawns.zip"


def parquet(folder: Path) -> Path:
    FRAME.to_parquet(folder / "lawns.parquet", write_covering_bbox=True)
    return folder / "lawns.parquet"


def geojson(folder: Path) -> Path:
    (folder / "lawns.json").write_text(FRAME.to_json(drop_id=True), encoding="utf-8")
    return folder / "lawns.json"


def csv_wkt(folder: Path) -> Path:
    rows = [f'Front;turf;2.5;"{FRONT.wkt}"', f"Zurück;;;{BACK.wkt}"]
    text = "\n".join(["Name;kind;mow_in;WKT", *rows])
    (folder / "lawns.csv").write_text(text, encoding="utf-8-sig")
    return folder / "lawns.csv"


def _kml_ring(ring: shapely.LinearRing) -> str:
    triples = " ".join(f"{x},{y},0" for x, y in ring.coords)
    return f"<LinearRing><coordinates>{triples}</coordinates></LinearRing>"


def _kml_placemark(name: str, kind: str, area: shapely.Polygon) -> str:
    holes = "".join(f"<innerBoundaryIs>{_kml_ring(h)}</innerBoundaryIs>" for h in area.interiors)
    return (
        f"<Placemark><Name/><name>{name}</name><visibility>1</visibility><ExtendedData>"
        f'<Data name="kind"><value>{kind}</value></Data></ExtendedData><Polygon>'
        f"<tessellate>1</tessellate><outerBoundaryIs>{_kml_ring(area.exterior)}</outerBoundaryIs>"
        f"{holes}</Polygon></Placemark>"
    )


def _kml_text() -> str:
    return (
        '<?xml version="1.0" encoding="UTF-8"?>'
        '<kml xmlns="http://www.opengis.net/kml/2.2"><Document><name>Round</name>'
        f"<Folder><name>North</name>{_kml_placemark('Front', 'turf', FRONT)}</Folder>"
        f"<Folder><name>South</name>{_kml_placemark('Zurück', '', BACK)}</Folder>"
        "</Document></kml>"
    )


def kml(folder: Path) -> Path:
    (folder / "lawns.kml").write_text(_kml_text(), encoding="utf-8")
    return folder / "lawns.kml"


def kmz(folder: Path) -> Path:
    with zipfile.ZipFile(folder / "lawns.kmz", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("doc.kml", _kml_text())
    return folder / "lawns.kmz"


FORMATS = {
    "csv": csv_wkt,
    "flatgeobuf": by_fiona("lawns.fgb", "FlatGeobuf"),
    "geojson": geojson,
    "geopackage": by_fiona("lawns.gpkg", "GPKG"),
    "kml": kml,
    "kmz": kmz,
    "parquet": parquet,
    "shapefile": by_fiona("lawns.shp", "ESRI Shapefile"),
    "zip": zipped_shapefile,
}


def fault_of(path: Path, **asked: str) -> str:
    """Return the one sentence with which a file is refused."""
    with pytest.raises(InputFaultsError) as caught:
        read_foreign(path, **asked)  # type: ignore[arg-type]
    (fault,) = caught.value.faults
    assert fault.file == str(path)
    assert fault.mend
    return str(fault)


def faults_of(foreign: Foreign) -> list[str]:
    return [str(fault) for faults in foreign.faults for fault in faults]


@pytest.mark.parametrize("name", FORMATS)
def test_each_format_gives_the_same_lawns(name: str, tmp_path: Path) -> None:
    foreign = read_foreign(FORMATS[name](tmp_path))
    assert faults_of(foreign) == []
    names = [str(row.get("Name", row.get("name"))) for row in foreign.rows]
    assert sorted(names) == ["Front", "Zurück"]
    for row, found in zip(foreign.rows, foreign.geometries, strict=True):
        front = row.get("Name", row.get("name")) == "Front"
        assert row["kind"] == ("turf" if front else None)
        assert found.normalize().equals_exact((FRONT if front else BACK).normalize(), 1e-12)


def test_records_are_named_and_progress_told(tmp_path: Path) -> None:
    told: list[int] = []
    assert read_foreign(csv_wkt(tmp_path), progress=told.append).records == ["line 2", "line 3"]
    assert told[-1] == 2
    several = read_foreign(kml(tmp_path))
    assert several.records == ["record 1 of layer North", "record 1 of layer South"]
    one = read_foreign(tmp_path / "lawns.kml", layer="South")
    assert [row["name"] for row in one.rows] == ["Zurück"]
    assert set(one.rows[0]) == {"name", "kind"}, "KML's columns on looks are no data"


def test_several_layers_are_listed_to_choose_from(tmp_path: Path) -> None:
    for name in ("lawns", "ponds"):
        FRAME.to_file(tmp_path / "two.gpkg", layer=name, driver="GPKG", engine="fiona")
        FRAME.to_file(tmp_path / f"{name}.shp", engine="fiona")
    with zipfile.ZipFile(tmp_path / "two.zip", "w") as archive:
        for part in (*tmp_path.glob("lawns.*"), *tmp_path.glob("ponds.*")):
            archive.write(part, f"gis/{part.name}")
    for file in ("two.gpkg", "two.zip"):
        said = fault_of(tmp_path / file)
        assert "--layer" in said
        assert "lawns" in said
        assert "ponds" in said
        assert len(read_foreign(tmp_path / file, layer="ponds").rows) == 2
        assert "no layer 'drives'" in fault_of(tmp_path / file, layer="drives")
    assert "no layers" in fault_of(tmp_path / "lawns.shp", layer="ponds")


def test_gpx_tracks_that_close_are_areas(tmp_path: Path) -> None:
    # 2 m and 4 m short of the start at 33° N: 1e-5 degrees of latitude are 1.109 m.
    def track(name: str, gap: float) -> str:
        corners = [(33.0, -84.0), (33.0, -83.999), (33.001, -83.999), (33.001, -84.0)]
        points = [*corners, (33.0 + gap, -84.0)]
        text = "".join(
            f'<trkpt lat="{lat}" lon="{lon}"><ele>1</ele></trkpt>' for lat, lon in points
        )
        return f"<trk><name>{name}</name><trkseg>{text}</trkseg></trk>"

    path = tmp_path / "walk.GPX"
    path.write_text(
        '<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">'
        '<wpt lat="33.0005" lon="-84"><name>well</name></wpt>'
        f"{track('ring', 1.8e-5)}{track('path', 3.6e-5)}</gpx>"
    )
    foreign = read_foreign(path)
    assert foreign.records == [
        "record 1 of layer waypoints",
        "record 1 of layer tracks",
        "record 2 of layer tracks",
    ]
    assert [shape.geom_type for shape in foreign.geometries] == ["Point", "Polygon", "LineString"]
    assert any("they end where they began: 1" in note for note in foreign.notes)
    assert len(read_foreign(path, layer="waypoints").rows) == 1


DXF_RING = "0\nLWPOLYLINE\n8\nlawn\n90\n3\n70\n1\n" + "".join(
    f"10\n{x}\n20\n{y}\n" for x, y in ((2963503.91, 254759.80), (2963603.91, 254759.80),
                                       (2963603.91, 254859.80))
)  # fmt: skip
DXF = f"0\nSECTION\n2\nENTITIES\n{DXF_RING}0\nENDSEC\n0\nEOF\n"


def test_a_drawing_needs_its_system_and_says_its_unit_is_taken_on_trust(tmp_path: Path) -> None:
    path = tmp_path / "plan.dxf"
    path.write_text(DXF)
    assert "--crs EPSG:nnnn" in fault_of(path)
    foreign = read_foreign(path, crs="EPSG:32040")
    assert foreign.geometries[0].geom_type == "Polygon"
    # EPSG guidance note 7-2, Lambert conic conformal (2SP): 28°30' N, 96° W, before the datum
    # shift from NAD27, which is under 60 m there.
    assert shapely.distance(foreign.geometries[0], shapely.Point(-96, 28.5)) < 6e-4
    assert any("unit" in note for note in foreign.notes)
    assert any(note.startswith("Warning") and "NAD27" in note for note in foreign.notes)


def test_a_real_file_that_we_did_not_make() -> None:
    path = Path(momepy.datasets.get_path("bubenec"))
    foreign = read_foreign(path, layer="buildings")
    # geopandas is the reference: same file, same projection by another path.
    theirs = geopandas.read_file(path, layer="buildings", engine="fiona").to_crs(4326)
    assert len(foreign.rows) == len(theirs) == 144
    assert shapely.equals_exact(foreign.geometries, theirs.geometry.to_numpy(), 1e-9).all()
    assert any("EPSG:3857" in note and "0 m" in note for note in foreign.notes)


def test_csv_with_positions_or_without_shapes(tmp_path: Path) -> None:
    path = tmp_path / "gates.csv"
    path.write_text("name,Longitude,Latitude\nmain,-84,33\nside,,\nlost,-84,north\nshort,1\n")
    foreign = read_foreign(path)
    assert foreign.geometries[0].equals(shapely.Point(-84, 33))
    assert foreign.geometries[1] is None
    said = faults_of(foreign)
    assert len(said) == 2
    assert "line 4" in said[0]
    assert "line 5" in said[1]
    path.write_text("name,x,y\nmain,2963503.91,254759.8\n")
    assert "--crs EPSG:nnnn" in fault_of(path)
    assert read_foreign(path, crs="32040").geometries[0] is not None
    path.write_text("name,x,y\nmain,-84,33\n")
    assert any("taken as longitude" in note for note in read_foreign(path).notes)
    path.write_text("client,phone\nA,1\n")
    assert read_foreign(path).rows == [{"client": "A", "phone": "1"}]
    path.write_bytes("name,lon,lat\nZur\xfcck,1,1\n".encode("latin-1"))
    assert "UTF-8" in fault_of(path)
    path.write_text("name,lon,lon\nx,1,1\n")
    assert "'lon'" in fault_of(path)


def collection(*features: object, **members: object) -> str:
    return json.dumps({"type": "FeatureCollection", "features": features, **members})


def feature(geometry: object, **properties: object) -> dict[str, object]:
    return {"type": "Feature", "geometry": geometry, "properties": properties}


def point(x: float, y: float) -> dict[str, object]:
    return {"type": "Point", "coordinates": [x, y]}


def test_geojson_says_its_system_or_is_asked_for_it(tmp_path: Path) -> None:
    path = tmp_path / "p.geojson"
    # EPSG guidance note 7-2, popular visualisation pseudo-Mercator (from memory, not read).
    mercator = feature(point(-11169055.58, 2800000.00))
    path.write_text(collection(mercator))
    assert "--crs EPSG:nnnn" in fault_of(path)
    by_user = read_foreign(path, crs="EPSG:3857").geometries[0]
    named = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::3857"}}
    path.write_text(collection(mercator, crs=named))
    by_file = read_foreign(path).geometries[0]
    assert by_user.equals(by_file)
    assert by_file.equals_exact(shapely.Point(-100.3333333, 24.3817869), 1e-6)
    path.write_text(collection(mercator, crs={"type": "link", "properties": {"href": "//x"}}))
    assert "crs member" in fault_of(path)
    path.write_text(collection(feature(point(1, 2)), crs=None))
    assert "no coordinate reference system" in fault_of(path)


def test_each_bad_record_is_a_fault_and_the_others_stay(tmp_path: Path) -> None:
    path = tmp_path / "mixed.geojson"
    lawn = shapely.geometry.mapping(BACK)
    collected = {"type": "GeometryCollection", "geometries": [lawn, lawn]}
    bad: list[object] = [
        feature(point(float("nan"), 33)),
        feature(point(-84, 333)),
        feature({"type": "Polygon", "coordinates": [[[0, 0], "x"]]}),
        feature({"type": "GeometryCollection", "geometries": [lawn, point(0, 0)]}),
        feature(point(1, 2), name="\ud800"),
        feature(point(1, 2), name="x" * 100_000),
        "feature?",
    ]
    good = [feature(lawn), feature(collected), feature(None, tags={"a": [1]}), feature(point(1, 2))]
    path.write_text(collection(*good, *bad, *[feature(point(1, 2))] * 3))
    foreign = read_foreign(path)
    assert [bool(faults) for faults in foreign.faults] == [False] * 4 + [True] * 7 + [False] * 3
    assert foreign.geometries[1].geom_type == "MultiPolygon"
    assert foreign.rows[2] == {"tags": '{"a": [1]}'}
    assert all("record" in said for said in faults_of(foreign))


def test_a_file_without_records_is_read_as_such(tmp_path: Path) -> None:
    path = tmp_path / "none.geojson"
    path.write_text(collection())
    assert read_foreign(path).records == []
    path = by_fiona("none.gpkg", "GPKG")(tmp_path)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("DROP TRIGGER IF EXISTS rtree_none_geom_delete")
        connection.execute('DELETE FROM "none"')
        connection.commit()
    assert len(read_foreign(path).geometries) == 0


def test_heights_are_left_out_and_told(tmp_path: Path) -> None:
    path = tmp_path / "high.geojson"
    raised = shapely.force_3d(BACK, 5.0)
    path.write_text(collection(feature(shapely.geometry.mapping(raised))))
    foreign = read_foreign(path)
    assert not foreign.geometries[0].has_z
    assert any("heights were left out: 1" in note for note in foreign.notes)


def test_curves_become_short_lines_and_are_told(tmp_path: Path) -> None:
    path = by_fiona("lawns.gpkg", "GPKG")(tmp_path)
    # A circle of 0.001 degrees as a curve polygon of one circular string (WKB codes 10 and 8).
    corners = [(0.001, 0), (0, 0.001), (-0.001, 0), (0, -0.001), (0.001, 0)]
    numbers = b"".join(struct.pack("<dd", *corner) for corner in corners)
    curve = struct.pack("<BII", 1, 10, 1) + struct.pack("<BII", 1, 8, 5) + numbers
    blob = b"GP\x00\x01" + struct.pack("<i", 4326) + curve
    with closing(sqlite3.connect(path)) as connection:
        triggers = connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        for (trigger,) in triggers.fetchall():  # they call functions SQLite alone has not
            connection.execute(f'DROP TRIGGER "{trigger}"')
        # The driver's own count of records stays behind: the new record must not be lost.
        connection.execute("INSERT INTO lawns (geom) VALUES (?)", (blob,))
        connection.commit()
    foreign = read_foreign(path)
    assert len(foreign.rows) == 3
    assert any("short straight lines: 1" in note for note in foreign.notes)
    # Inscribed in the circle, one corner a degree: sin(2 pi / n) n / (2 pi) = 1 - 5.1e-5 of it.
    assert foreign.geometries[2].area == pytest.approx(math.pi * 1e-6, rel=6e-5)


def test_a_shapefile_without_its_side_files(tmp_path: Path) -> None:
    path = by_fiona("lawns.shp", "ESRI Shapefile")(tmp_path)
    (tmp_path / "lawns.prj").unlink()
    assert "no coordinate reference system" in fault_of(path)
    assert len(read_foreign(path, crs="EPSG:4326").rows) == 2
    (tmp_path / "lawns.shx").unlink()
    assert ".shx" in fault_of(path)


def test_a_system_that_is_none_can_be_given(tmp_path: Path) -> None:
    path = tmp_path / "plain.gpkg"
    FRAME.set_crs(None, allow_override=True).to_file(path, driver="GPKG", engine="fiona")
    assert "--crs EPSG:nnnn" in fault_of(path)
    foreign = read_foreign(path, crs="EPSG:4326")
    assert foreign.notes == []
    assert foreign.geometries[0].equals(FRONT)


def test_a_system_given_against_the_file_is_used_and_told(tmp_path: Path) -> None:
    foreign = read_foreign(geojson(tmp_path), crs="EPSG:4267")
    assert any("as you asked" in note for note in foreign.notes)
    assert read_foreign(tmp_path / "lawns.json", crs="EPSG:4326").notes == []
    moved = shapely.distance(foreign.geometries[0].centroid, FRONT.centroid)
    assert 0 < moved < 1e-3
    assert "'EPSG:999999'" in fault_of(tmp_path / "lawns.json", crs="EPSG:999999")
    assert np.all([shape.is_valid for shape in foreign.geometries])
