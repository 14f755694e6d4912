"""Files that mean harm, or were cut short: one sentence, bounded, and nothing else is read."""

import json
import stat
import zipfile
from pathlib import Path

import geopandas
import numpy as np
import pytest
import shapely

from turfmap.foundations.errors import InputFaultsError
from turfmap.store.foreign import process
from turfmap.store.foreign.limits import MAX_ARCHIVE_MEMBERS, MAX_RECORD_VERTICES
from turfmap.store.foreign.process import worker_answer
from turfmap.store.foreign.reading import read_foreign

SECRET = "not for you"  # noqa: S105 - what a disguised file points at


def refused(path: Path, **asked: str) -> str:
    with pytest.raises(InputFaultsError) as caught:
        read_foreign(path, **asked)  # type: ignore[arg-type]
    (fault,) = caught.value.faults
    said = str(fault)
    assert SECRET not in said
    assert said.isprintable(), "one line, for a terminal"
    return said


@pytest.fixture
def lawns(tmp_path: Path) -> geopandas.GeoDataFrame:
    frame = geopandas.GeoDataFrame(
        {"name": ["a", "b"]},
        geometry=[shapely.box(0, 0, 0.001, 0.001), shapely.box(1, 0, 1.001, 0.001)],
        crs=4326,
    )
    frame.to_file(tmp_path / "lawns.gpkg", driver="GPKG", engine="fiona")
    return frame


@pytest.fixture
def vrt(tmp_path: Path) -> Path:
    """Make a virtual file, which a driver that took it would read from another file."""
    secret = tmp_path / "secret.csv"
    secret.write_text(f"name,lon,lat\n{SECRET},1,1\n")
    path = tmp_path / "virtual.vrt"
    path.write_text(
        f'<OGRVRTDataSource><OGRVRTLayer name="secret"><SrcDataSource>{secret}</SrcDataSource>'
        '<GeometryField encoding="PointFromColumns" x="lon" y="lat"/></OGRVRTLayer>'
        "</OGRVRTDataSource>"
    )
    return path


@pytest.mark.parametrize(
    "suffix", ["csv", "dxf", "fgb", "geojson", "gpkg", "gpx", "json", "kml", "parquet", "shp"]
)
def test_a_virtual_file_in_disguise_is_refused(suffix: str, vrt: Path) -> None:
    assert "content" in refused(vrt.rename(vrt.with_name(f"lawns.{suffix}")))


def test_virtual_files_are_refused_inside_archives(vrt: Path, tmp_path: Path) -> None:
    path = tmp_path / "lawns.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.write(vrt, "lawns.shp")
        archive.write(vrt, "lawns.shx")
    assert "content is not shapefile" in refused(path)


@pytest.mark.parametrize("reader", ["dxf", "flatgeobuf", "geopackage", "shapefile"])
def test_the_driver_alone_refuses_it_too(reader: str, vrt: Path) -> None:
    """The second wall: each reader opens its own driver and no other."""
    with pytest.raises(InputFaultsError) as caught:
        worker_answer(reader, vrt)
    assert SECRET not in str(caught.value)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
@pytest.mark.parametrize(("root", "suffix"), [("kml", "kml"), ("gpx", "gpx")])
def test_entities_are_refused(root: str, suffix: str, encoding: str, tmp_path: Path) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text(SECRET)
    bomb = "".join(f'<!ENTITY e{i} "{f"&e{i - 1};" * 10 if i else "ha"}">' for i in range(12))
    path = tmp_path / f"bomb.{suffix}"
    for entities in (bomb, f'<!ENTITY e11 SYSTEM "{secret.as_uri()}">'):
        text = f"<!DOCTYPE {root} [{entities}]><{root}><name>&e11;</name></{root}>"
        path.write_text(f'<?xml version="1.0" encoding="{encoding}"?>{text}', encoding=encoding)
        assert "document type" in refused(path)


def zip_of(path: Path, *members: tuple[str | zipfile.ZipInfo, bytes]) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members:
            archive.writestr(name, content, zipfile.ZIP_DEFLATED)
    return path


@pytest.mark.parametrize("name", ["../../lawns.shp", "/lawns.shp", "..\\lawns.shp", "C:/lawns.shp"])
def test_paths_out_of_the_archive_are_refused(name: str, tmp_path: Path) -> None:
    assert "leads out of it" in refused(zip_of(tmp_path / "slip.zip", (name, b"x")))


def test_zip_bombs_links_and_crowds_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "bad.zip"
    assert "times its size" in refused(zip_of(path, ("lawns.shp", bytes(20_000_000))))
    link = zipfile.ZipInfo("lawns.shp")
    link.external_attr = (stat.S_IFLNK | 0o777) << 16
    assert "holds a link" in refused(zip_of(path, (link, b"/etc/hostname")))
    crowd = [(f"{number}.txt", b"") for number in range(MAX_ARCHIVE_MEMBERS + 1)]
    assert "files" in refused(zip_of(path, *crowd))
    assert "no shapefile" in refused(zip_of(path, ("readme.txt", b"hello")))
    path.write_bytes(path.read_bytes()[:-30])
    assert "damaged" in refused(path)


def test_a_bomb_that_lies_about_its_size_is_cut_off(tmp_path: Path) -> None:
    path = zip_of(tmp_path / "liar.kmz", ("doc.kml", b"<kml>" + bytes(20_000_000)))
    packed = path.read_bytes()
    true_size = (20_000_005).to_bytes(4, "little")
    path.write_bytes(packed.replace(true_size, (1000).to_bytes(4, "little")))
    assert "damaged" in refused(path)


def test_deep_and_damaged_json_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "deep.geojson"
    path.write_text('{"type":"Feature","geometry":' + "[" * 100_000)
    assert "nested deeper" in refused(path)
    nested: dict[str, object] = {}
    for _ in range(200):
        nested = {"a": nested}
    path.write_text(json.dumps({"type": "Feature", "geometry": None, "properties": nested}))
    assert "nested deeper" in refused(path)
    path.write_text('{"type": "FeatureCollection",\n "features": [')
    assert "line 2" in refused(path)
    path.write_text('{"type": "Topology"}')
    assert "not GeoJSON" in refused(path)


def test_a_shape_with_too_many_corners_is_its_records_fault(tmp_path: Path) -> None:
    path = tmp_path / "huge.geojson"
    line = [[0.5, 0.5]] * (MAX_RECORD_VERTICES + 1)
    path.write_text(json.dumps({"type": "LineString", "coordinates": line}))
    foreign = read_foreign(path)
    assert "corners" in str(foreign.faults[0][0])
    assert foreign.geometries[0] is None


@pytest.mark.parametrize(
    "name", ["/vsizip/a.zip/b.shp", "/vsicurl/http://x/y.gpkg", "http://x/y.kml"]
)
def test_addresses_are_not_files(name: str) -> None:
    assert "address" in refused(Path(name))


def test_other_names_and_places(tmp_path: Path) -> None:
    assert "no such file" in refused(tmp_path / "none.gpkg")
    assert "is not read" in refused(tmp_path / "lawns.vrt")
    (tmp_path / "folder.gpkg").mkdir()
    assert "no such file" in refused(tmp_path / "folder.gpkg")
    (tmp_path / "empty.gpkg").touch()
    assert "it is empty" in refused(tmp_path / "empty.gpkg")


@pytest.mark.usefixtures("lawns")
def test_the_file_and_its_folder_stay_as_they_were(tmp_path: Path) -> None:
    path = tmp_path / "lawns.gpkg"
    before = path.read_bytes()
    assert len(read_foreign(path).rows) == 2
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.usefixtures("lawns")
def test_a_database_in_use_is_refused(tmp_path: Path) -> None:
    (tmp_path / "lawns.gpkg-wal").write_bytes(b"changes that are not in the file yet")
    assert "another program" in refused(tmp_path / "lawns.gpkg")


@pytest.mark.usefixtures("lawns")
def test_nothing_beside_us_is_imported(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "fiona.py").write_text("raise SystemExit('taken in')")
    (tmp_path / "json.py").write_text("raise SystemExit('taken in')")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    assert len(read_foreign(tmp_path / "lawns.gpkg").rows) == 2


@pytest.mark.usefixtures("lawns")
def test_a_reader_that_takes_too_long_or_dies_is_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(InputFaultsError, match="broke down"):
        worker_answer("no such reader", tmp_path / "lawns.gpkg")
    monkeypatch.setattr(process, "WORKER_START_S", 0.0)
    monkeypatch.setattr(process, "WORKER_S_PER_MEBIBYTE", 0.0)
    assert "longer than" in refused(tmp_path / "lawns.gpkg")


@pytest.mark.parametrize(
    ("suffix", "driver"), [("gpkg", "GPKG"), ("fgb", "FlatGeobuf"), ("shp", "ESRI Shapefile")]
)
def test_a_file_cut_short_never_passes_for_whole(
    suffix: str, driver: str, lawns: geopandas.GeoDataFrame, tmp_path: Path
) -> None:
    """A FlatGeobuf cut short opens without complaint and gives no record."""
    path = tmp_path / f"cut.{suffix}"
    lawns.to_file(path, driver=driver, engine="fiona")
    whole = path.read_bytes()
    path.write_bytes(whole[: int(len(whole) * 0.7)])
    try:
        foreign = read_foreign(path)
    except InputFaultsError:
        return
    assert any(foreign.faults)


@pytest.mark.parametrize("part", ["shx", "dbf"])
def test_a_shapefile_with_a_short_side_file_is_refused(
    part: str, lawns: geopandas.GeoDataFrame, tmp_path: Path
) -> None:
    lawns.to_file(tmp_path / "lawns.shp", engine="fiona")
    side = tmp_path / f"lawns.{part}"
    side.write_bytes(side.read_bytes()[:-6])
    assert f".{part} is damaged or cut short" in refused(tmp_path / "lawns.shp")


def test_a_drawing_cut_short_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "plan.dxf"
    path.write_text("0\nSECTION\n2\nENTITIES\n0\nPOINT\n8\nx\n10\n1\n20\n1\n")
    assert "no end" in refused(path, crs="EPSG:4326")


@pytest.mark.parametrize("suffix", ["gpkg", "fgb", "shp", "parquet", "geojson"])
def test_flipped_bits_end_in_sentences(
    suffix: str, lawns: geopandas.GeoDataFrame, tmp_path: Path
) -> None:
    path = tmp_path / f"flipped.{suffix}"
    if suffix == "parquet":
        lawns.to_parquet(path)
    else:
        drivers = {"gpkg": "GPKG", "fgb": "FlatGeobuf", "shp": "ESRI Shapefile"}
        lawns.to_file(path, driver=drivers.get(suffix, "GeoJSON"), engine="fiona")
    whole = np.frombuffer(path.read_bytes(), dtype=np.uint8)
    rng = np.random.default_rng(7)
    for _ in range(2):
        flipped = whole.copy()
        flipped[rng.integers(16, len(whole), 20)] ^= 0x55
        path.write_bytes(flipped.tobytes())
        try:
            foreign = read_foreign(path, crs="EPSG:4326")
        except InputFaultsError as error:
            assert str(error).isprintable()
        else:
            assert len(foreign.rows) == len(foreign.geometries) == len(foreign.faults)
