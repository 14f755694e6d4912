"""A small good file of each format, made by code that is not ours where there is any."""

import io
import zipfile
from pathlib import Path
from typing import Any

import geopandas
import numpy as np
import osmium
import rasterio
import shapely
import shapely.affinity
from affine import Affine

# On free ground of the place of `tests.desk.recording`.
WEST, SOUTH = -84.0, 33.0
X, Y = ("-83.9999", "-83.9998"), ("33.0006", "33.0007")
RING = ((X[0], Y[0]), (X[1], Y[0]), (X[1], Y[1]), (X[0], Y[1]), (X[0], Y[0]))
KML = f"""<?xml version="1.0" encoding="UTF-8"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document>
<Placemark><name>North</name><ExtendedData>
<Data name="kind"><value>turf</value></Data></ExtendedData>
<Polygon><outerBoundaryIs><LinearRing><coordinates>{" ".join(f"{x},{y},0" for x, y in RING)}
</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></Document></kml>"""
GPX = f"""<?xml version="1.0"?><gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1">
<trk><name>North</name><trkseg>{"".join(f'<trkpt lat="{y}" lon="{x}"/>' for x, y in RING)}</trkseg>
</trk></gpx>"""
OSM = """<?xml version="1.0"?><osm version="0.6"><node id="1" lat="33.0001" lon="-83.9999"/>
<node id="2" lat="33.0001" lon="-83.98"/><node id="3" lat="33.01" lon="-83.98"/><way id="1">
<nd ref="1"/><nd ref="2"/><nd ref="3"/><tag k="highway" v="residential"/>
<tag k="maxspeed" v="30 mph"/></way></osm>"""
DXF = "\n".join(
    [*["0", "SECTION", "2", "ENTITIES", "0", "LWPOLYLINE", "8", "lawns", "90", "4", "70", "1"]]
    + [part for x, y in RING[:-1] for part in ("10", x, "20", y)]
    + [*["0", "ENDSEC", "0", "EOF"], ""]
)


def zones() -> geopandas.GeoDataFrame:
    """Return two lawns on free ground of the place."""
    north = shapely.Polygon([(float(x), float(y)) for x, y in RING])
    shapes = [north, shapely.affinity.translate(north, 1.5e-4)]
    columns = {"name": ["North", "South"], "kind": ["turf", "turf"], "notes": ["a", "b"]}
    return geopandas.GeoDataFrame(columns, geometry=shapes, crs=4326)


def vector_files(folder: Path) -> dict[str, bytes]:
    """Return a good file of each vector format, by its ending."""
    frame = zones()
    made: dict[str, bytes] = {
        "geojson": frame.to_json(drop_id=True).encode(),
        "kml": KML.encode(),
        "gpx": GPX.encode(),
        "dxf": DXF.encode(),
        "csv": "\n".join(
            [
                "name,kind,wkt",
                *(f'{n},turf,"{s.wkt}"' for n, s in zip("ab", frame.geometry, strict=True)),
            ]
        ).encode(),
        "kmz": _zip({"doc.kml": KML.encode()}),
    }
    for ending, driver in (("gpkg", "GPKG"), ("fgb", "FlatGeobuf")):
        frame.to_file(folder / f"good.{ending}", driver=driver, engine="fiona")
        made[ending] = (folder / f"good.{ending}").read_bytes()
    frame.to_file(folder / "good.shp", engine="fiona")
    made["zip"] = _zip({part.name: part.read_bytes() for part in folder.glob("good.[sdpc][hbrp]*")})
    frame.to_parquet(folder / "good.parquet")
    made["parquet"] = (folder / "good.parquet").read_bytes()
    return made


def raster(folder: Path, *, bands: int = 1, ending: str = "tif") -> bytes:
    """Return a picture of the place's ground, or its heights [m]."""
    count = 40
    values = np.add.outer(np.arange(count), np.arange(count))[None].repeat(bands, axis=0)
    about: dict[str, Any] = {
        "driver": {"tif": "GTiff", "png": "PNG", "jpg": "JPEG"}[ending],
        "dtype": "uint8",
        "crs": "EPSG:4326",
        "transform": Affine(4e-5, 0.0, WEST - 2e-4, 0.0, -4e-5, SOUTH + 1.4e-3),
    }
    path = folder / f"good-{bands}.{ending}"
    with rasterio.open(path, "w", width=count, height=count, count=bands, **about) as file:
        file.write(values.astype("uint8"))
    return path.read_bytes()


def extract(folder: Path) -> bytes:
    """Return a packed extract of the open street map."""
    (folder / "town.osm").write_text(OSM, encoding="utf-8")
    with osmium.SimpleWriter(str(folder / "town.osm.pbf"), overwrite=True) as writer:
        for one in osmium.FileProcessor(str(folder / "town.osm")):
            writer.add(one)
    return (folder / "town.osm.pbf").read_bytes()


def _zip(members: dict[str, bytes]) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return packed.getvalue()
