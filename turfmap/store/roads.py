"""Roads out of an extract of the open street map (``.osm.pbf``, ``.osm``), read by `osmium`.

Only ways that a truck may drive on, near the places asked for, each cut at its nodes. How fast is
in the table ``road_speed``; a posted limit beats the class of a road. The extract is parsed in a
process of its own (`turfmap.store.road_worker`), held to time and memory.
"""

import json
from dataclasses import replace
from pathlib import Path
from typing import IO, Any

import numpy as np
from numpy.typing import NDArray

from turfmap.foundations.errors import InputFaultsError, input_fault
from turfmap.store.bounded import MEBIBYTE, CutShortError, told_fault, worker
from turfmap.store.road_worker import FETCH, MOST_ARCS, Floats

ENDINGS = (".osm.pbf", ".pbf", ".osm", ".osm.bz2", ".osm.gz")
MOST_BYTES = 1_000_000_000
# Packed text can hold a thousand times its size.
PACKED, MOST_PACKED_BYTES = (".osm.bz2", ".osm.gz"), 50_000_000
# Ways round the places asked for: roads further off are left out [deg], about 15 km.
MARGIN_DEG = 0.15
START_S, S_PER_MEBIBYTE, S_PER_PACKED_MEBIBYTE = 60.0, 2.0, 20.0
LONGEST_LINE_BYTES = 100_000


def read_roads(path: Path, places: Floats) -> tuple[Floats, NDArray[np.int64], Floats, Floats]:
    """Read the roads round some places.

    Parameters
    ----------
    path
        The extract.
    places
        Longitude and latitude [deg], shape (places, 2).

    Returns
    -------
    lon_lat : numpy.ndarray
        Nodes [deg], shape (nodes, 2).
    ends : numpy.ndarray
        From which node to which each arc goes, shape (arcs, 2).
    metres, seconds : numpy.ndarray
        Length and driving time of each arc, shape (arcs,).

    Raises
    ------
    InputFaultsError
        If the file is not there, too large or no extract, or holds no road near the places.
    """
    check_extract(path)
    box = (*(places.min(axis=0) - MARGIN_DEG), *(places.max(axis=0) + MARGIN_DEG))
    file = path.resolve()
    arguments = [str(file), *(repr(float(edge)) for edge in box)]
    per_mebibyte = S_PER_PACKED_MEBIBYTE if _is_packed(path) else S_PER_MEBIBYTE
    limit_s = START_S + per_mebibyte * file.stat().st_size / MEBIBYTE
    module = "turfmap.store.road_worker"
    try:
        with worker(module, arguments, folder=file.parent, limit_s=limit_s) as said:
            return _arrays(said)
    except InputFaultsError as error:
        raise InputFaultsError(replace(fault, file=str(path)) for fault in error.faults) from None


def check_extract(path: Path) -> None:
    """Look whether a file can be an extract at all, before anything else is reckoned.

    Raises
    ------
    InputFaultsError
        If it is not there, empty, too large, or neither by its name nor its first bytes one.
    """
    file = str(path)
    if not path.is_file():
        raise input_fault("there is no such file", "check the name", file=file)
    if not path.name.lower().endswith(ENDINGS):
        raise input_fault(
            "it is no extract of the open street map",
            f"give a file that ends in one of {', '.join(ENDINGS)}",
            file=file,
        )
    most = MOST_PACKED_BYTES if _is_packed(path) else MOST_BYTES
    if path.stat().st_size > most:
        raise input_fault(
            f"it is larger than {most / 1e6:,.0f} MB",
            "cut an extract for where you work",
            file=file,
        )
    try:
        with path.open("rb") as opened:
            head = opened.read(64)
    except OSError as error:
        raise input_fault(
            f"it cannot be read ({error.strerror})", "check its rights", file=file
        ) from None
    if not _looks_right(path.name.lower(), head):
        said = "it is empty" if not head else "it cannot be read as an extract (its first bytes)"
        raise input_fault(said, FETCH, file=file)


def _is_packed(path: Path) -> bool:
    return path.name.lower().endswith(PACKED)


def _looks_right(name: str, head: bytes) -> bool:
    if name.endswith(".pbf"):
        # A length of four bytes, then the first field of a BlobHeader, its type (from memory).
        return head[4:6] == b"\x0a\x09" and head[6:15] == b"OSMHeader"
    if name.endswith(".osm"):
        return head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<")
    return head.startswith(b"BZh" if name.endswith(".bz2") else b"\x1f\x8b")


def _arrays(said: IO[bytes]) -> tuple[Floats, NDArray[np.int64], Floats, Floats]:
    """Read the worker's answer: a line of JSON, then what it counts."""
    line = said.readline(LONGEST_LINE_BYTES)
    if not line.endswith(b"\n"):
        raise CutShortError
    told: dict[str, Any] = json.loads(line)
    if "faults" in told:
        raise InputFaultsError(told_fault(fault) for fault in told["faults"])
    nodes, arcs = int(told["nodes"]), int(told["arcs"])
    if not arcs:
        raise input_fault(
            "it holds no road near the stops and depots", "give an extract of where you work"
        )
    if not (0 < nodes <= 2 * arcs and arcs <= MOST_ARCS + 2):
        raise CutShortError
    lon_lat = _array(said, nodes * 2, np.float64).reshape(-1, 2)
    ends = _array(said, arcs * 2, np.int64).reshape(-1, 2)
    metres, seconds = _array(said, arcs, np.float64), _array(said, arcs, np.float64)
    if ends.min() < 0 or ends.max() >= nodes:
        raise CutShortError
    return lon_lat, ends, metres, seconds


def _array(said: IO[bytes], count: int, kind: type[np.generic]) -> NDArray[Any]:
    raw = said.read(count * 8)
    if len(raw) != count * 8:
        raise CutShortError
    return np.frombuffer(raw, dtype=kind)
