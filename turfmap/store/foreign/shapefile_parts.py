"""A shapefile is several files: gathered from beside the .shp, or from anywhere in a zip file."""

import struct
from collections.abc import Iterable
from pathlib import Path, PurePosixPath

from turfmap.foundations.errors import input_fault
from turfmap.store.foreign import archives
from turfmap.store.foreign.limits import MAX_FILE_BYTES
from turfmap.store.foreign.own_files import copied
from turfmap.store.foreign.records import chosen_layer

PARTS = (".shp", ".shx", ".dbf", ".prj", ".cpg")


def gathered(path: Path, folder: Path) -> Path:
    """Copy a shapefile and its side files into `folder`; return the copied .shp.

    Raises
    ------
    InputFaultsError
        If its index is missing, or a part is too large.
    """
    parts = {
        part.suffix.lower(): part
        for part in path.parent.iterdir()
        if part.stem == path.stem and part.suffix.lower() in PARTS
    }
    _check(parts)
    for suffix, part in parts.items():
        copied(part, folder / f"data{suffix}", MAX_FILE_BYTES)
    return folder / "data.shp"


def unzipped(path: Path, folder: Path, layer: str | None) -> Path:
    """Unpack one shapefile of a zip file into `folder`; return its .shp.

    Raises
    ------
    InputFaultsError
        If there is none, or there are several and `layer` names none of them.
    """
    with archives.opened(path) as archive:
        shapes = [_stem(member.filename) for member in archives.members(archive, ".shp")]
        if not shapes:
            raise input_fault("there is no shapefile (.shp) in the zip file", "pack one")
        stem = _chosen(shapes, layer)
        parts = {}
        for member in archive.infolist():
            suffix = PurePosixPath(member.filename).suffix.lower()
            if _stem(member.filename) == stem and suffix in PARTS:
                parts[suffix] = member
        _check(parts)
        for suffix, member in parts.items():
            archives.unpack(archive, member, folder / f"data{suffix}")
    return folder / "data.shp"


def _stem(name: str) -> str:
    return str(PurePosixPath(name).with_suffix(""))


def _chosen(stems: list[str], layer: str | None) -> str:
    """Return the path without its ending; people may name it without its folder."""
    named = [stem for stem in stems if PurePosixPath(stem).name == layer]
    return named[0] if len(named) == 1 else chosen_layer(stems, layer)


def _check(suffixes: Iterable[str]) -> None:
    if ".shx" not in suffixes:
        raise input_fault("the shapefile's .shx is missing", "give all of its files together")


def whole(shapes: Path) -> Path:
    """Return the .shp if no part is shorter than it says and all agree on the records.

    Lengths stand at byte 24 in words of 16 bits, big-endian (ESRI Shapefile Technical
    Description, July 1998); a table's count, heading and record sizes at bytes 4, 8 and 10.

    Raises
    ------
    InputFaultsError
        If a part is damaged or cut short.
    """
    index, table = shapes.with_suffix(".shx"), shapes.with_suffix(".dbf")
    for part in (shapes, index):
        said_bytes = 2 * int.from_bytes(_head(part)[24:28], "big")
        if said_bytes > part.stat().st_size:
            raise _cut_short(part)
    records = (index.stat().st_size - 100) // 8
    if table.is_file():
        count, heading_bytes, record_bytes = struct.unpack_from("<IHH", _head(table), 4)
        if heading_bytes + count * record_bytes > table.stat().st_size or count != records:
            raise _cut_short(table)
    return shapes


def _head(part: Path) -> bytes:
    with part.open("rb") as file:
        return file.read(100).ljust(100, b"\x00")


def _cut_short(part: Path) -> Exception:
    return input_fault(
        f"the shapefile's {part.suffix} is damaged or cut short", "export or copy it again"
    )
