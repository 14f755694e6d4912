"""Which format a foreign file is, by its name and by its content; and our own copy to read.

The copy lies alone in a fresh folder under a plain name: no side file, journal, odd name or
driver's path syntax of the original plays any part, and the original is never opened twice.
"""

import re
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from turfmap.foundations.errors import input_fault
from turfmap.store.foreign import archives, shapefile_parts
from turfmap.store.foreign.limits import MAX_FILE_BYTES, MAX_TEXT_BYTES
from turfmap.store.foreign.own_files import copied

HEAD_BYTES = 4096
ADDRESS = re.compile(r"[a-z][a-z0-9+.-]+:", re.IGNORECASE)  # two letters or more: not a drive


@dataclass(frozen=True)
class Format:
    """A format we read, and how its first bytes look."""

    title: str
    reader: str
    looks_right: Callable[[bytes], bool]
    most_bytes: int = MAX_FILE_BYTES
    has_layers: bool = False


@dataclass(frozen=True)
class Copy:
    """Our own copy of the file to be parsed."""

    reader: str
    path: Path
    layer: str | None


def _starts(*beginnings: bytes) -> Callable[[bytes], bool]:
    return lambda head: head.startswith(beginnings)


def _is_xml(head: bytes) -> bool:
    # A byte order mark may stand before it, in UTF-8 or UTF-16.
    return head.lstrip(b"\xef\xbb\xbf\xff\xfe\x00 \t\r\n").startswith(b"<")


def _is_json(head: bytes) -> bool:
    return head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"{")


def _is_dxf(head: bytes) -> bool:
    first = head.lstrip(b"\xef\xbb\xbf \t\r\n")
    return first[:1].isdigit() and b"SECTION" in head


def _is_table(head: bytes) -> bool:
    return b"\x00" not in head and not _is_xml(head) and not _is_json(head)


GEOJSON = Format("GeoJSON", "geojson", _is_json, MAX_TEXT_BYTES)
GEOPARQUET = Format("GeoParquet", "parquet", _starts(b"PAR1"))
KML = Format("KML", "kml", _is_xml, MAX_TEXT_BYTES, has_layers=True)
SHAPEFILE = Format("shapefile", "shapefile", _starts(b"\x00\x00\x27\x0a"))
ZIP = _starts(b"PK\x03\x04")
KMZ = Format("KMZ", "kml", ZIP, has_layers=True)
ZIPPED_SHAPEFILE = Format("zipped shapefile", "shapefile", ZIP, has_layers=True)
FORMATS = {
    ".csv": Format("CSV", "csv", _is_table, MAX_TEXT_BYTES),
    ".dxf": Format("DXF text", "dxf", _is_dxf, MAX_TEXT_BYTES),
    ".fgb": Format("FlatGeobuf", "flatgeobuf", _starts(b"fgb\x03fgb")),
    ".geojson": GEOJSON,
    ".geoparquet": GEOPARQUET,
    ".gpkg": Format("GeoPackage", "geopackage", _starts(b"SQLite format 3\x00"), has_layers=True),
    ".gpx": Format("GPX", "gpx", _is_xml, MAX_TEXT_BYTES, has_layers=True),
    ".json": GEOJSON,
    ".kml": KML,
    ".kmz": KMZ,
    ".parquet": GEOPARQUET,
    ".shp": SHAPEFILE,
    ".zip": ZIPPED_SHAPEFILE,
}


@contextmanager
def own_copy(path: Path, layer: str | None) -> Iterator[Copy]:
    """Copy a foreign file, or what matters of it, to a folder of its own for a while.

    Raises
    ------
    InputFaultsError
        For a format we do not read, content of another kind, a file too large or in use, or a
        layer asked of a format that has none.
    """
    form = _format(path)
    _check_content(path, form)
    if layer not in {None, path.stem} and not form.has_layers:
        raise input_fault(f"a {form.title} file has no layers", "leave --layer out")
    with tempfile.TemporaryDirectory(prefix="turfmap-") as folder:
        target = _staged(path, form, Path(folder), layer)
        inside = form.has_layers and form.reader != SHAPEFILE.reader
        yield Copy(form.reader, target, layer if inside else None)


def _staged(path: Path, form: Format, folder: Path, layer: str | None) -> Path:
    if form is ZIPPED_SHAPEFILE:
        target = shapefile_parts.unzipped(path, folder, layer)
        _check_content(target, SHAPEFILE)
        return shapefile_parts.whole(target)
    if form is SHAPEFILE:
        return shapefile_parts.whole(shapefile_parts.gathered(path, folder))
    if form is KMZ:
        target = _kml_from_kmz(path, folder)
        _check_content(target, KML)
        return target
    _check_at_rest(path)
    return copied(path, folder / f"data{path.suffix.lower()}", form.most_bytes)


def _format(path: Path) -> Format:
    # Path folds "//" to "/", so an address shows by its scheme alone.
    if str(path).startswith("/vsi") or ADDRESS.match(str(path)):
        raise input_fault("it is an address, not a file", "give a file on this computer")
    suffix = path.suffix.lower()
    if suffix not in FORMATS:
        known = ", ".join(sorted(name[1:] for name in FORMATS))
        ending = f"ending in {suffix}" if suffix else "without an ending"
        raise input_fault(f"a file {ending} is not read", f"export it as one of {known}")
    return FORMATS[suffix]


def _check_content(path: Path, form: Format) -> None:
    if not path.is_file():
        raise input_fault("there is no such file", "check its name")
    try:
        with path.open("rb") as file:
            head = file.read(HEAD_BYTES)
    except OSError as error:
        raise input_fault(f"it cannot be read ({error.strerror})", "check its rights") from error
    if not head:
        raise input_fault("it is empty", "export it again")
    if not form.looks_right(head):
        raise input_fault(f"its content is not {form.title}, as its name says", "check the file")


def _check_at_rest(path: Path) -> None:
    """Refuse a database whose latest changes lie beside it: it is not whole in its one file."""
    for tail in ("-wal", "-journal"):
        beside = path.with_name(path.name + tail)
        if path.suffix.lower() == ".gpkg" and beside.is_file() and beside.stat().st_size:
            raise input_fault(
                "another program has it open or left it half written",
                "close it there (or open it there once more and close it)",
            )


def _kml_from_kmz(path: Path, folder: Path) -> Path:
    with archives.opened(path) as archive:
        found = archives.members(archive, ".kml")
        if not found:
            raise input_fault("there is no .kml in the KMZ file", "export it again")
        # OGC 07-147r2, annex C: the first KML file at the root is the document.
        found.sort(key=lambda member: "/" in member.filename)
        if found[0].file_size > MAX_TEXT_BYTES:
            raise input_fault(f"its KML is over {MAX_TEXT_BYTES:,} bytes", "give it in parts")
        archives.unpack(archive, found[0], folder / "data.kml")
    return folder / "data.kml"
