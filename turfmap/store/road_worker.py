"""The process in which an extract of the open street map is parsed (`osmium`).

Started by ``roads``: ``python -m turfmap.store.road_worker FILE WEST SOUTH EAST NORTH``. It answers
with one line of JSON, faults or counts, and then the arrays themselves, byte by byte: never with
anything that is run or unpickled.
"""

import json
import re
import sys
from dataclasses import asdict
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pyproj import Geod

from turfmap.foundations.definitions import table
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.foundations.units import METRES_PER_SECOND_PER_MPH
from turfmap.store.bounded import MEBIBYTE, answer_stream, hold_to

Floats = NDArray[np.float64]

MOST_ARCS = 8_000_000
# Where every node of a state lies takes some; a thousand times as much is a bomb.
MEMORY_BYTES = 6 * 1024 * MEBIBYTE
FETCH = "fetch it again"
KILOMETRES_PER_MILE = 1.609344
# From a tag's words in miles or kilometres an hour; anything else is no posted limit.
_LIMIT = re.compile(r"(\d{1,3})(?:\s*(mph|km/h))?")
NO_ENTRY = {"no", "private", "agricultural", "forestry"}


def main(arguments: list[str]) -> None:
    """Read one extract and answer on what was standard output when we started."""
    hold_to(memory_bytes=MEMORY_BYTES, writes_bytes=MEBIBYTE)  # its own complaints
    answer = answer_stream()
    file, *edges = arguments
    arrays: tuple[NDArray[Any], ...] = ()
    try:
        arrays = gathered_roads(file, tuple(map(float, edges)))
        told: dict[str, Any] = {"nodes": len(arrays[0]), "arcs": len(arrays[1])}
    except InputFaultsError as error:
        told = {"faults": [asdict(fault) for fault in error.faults]}
    except MemoryError:
        mend = "cut an extract for where you work"
        told = {"faults": [asdict(Fault("", "", "it needs more memory than roads may", mend))]}
    answer.write(json.dumps(told).encode("ascii") + b"\n")
    for array in arrays:
        answer.write(array.tobytes())
    answer.flush()


def gathered_roads(
    file: str, box: tuple[float, ...]
) -> tuple[Floats, NDArray[np.int64], Floats, Floats]:
    """Return nodes, arcs, lengths and times of the roads in a box; see `turfmap.store.roads`."""
    found = _Gathered({row["road"]: float(row["value"]) for row in table("road_speed").rows})
    for way in _ways(file):
        found.add(way, box)
        if len(found.ends) > MOST_ARCS:
            raise input_fault(
                f"it holds more than {MOST_ARCS:,} stretches of road near the stops",
                "cut an extract for where you work",
            )
    return found.arrays()


def _ways(file: str) -> Any:
    """Yield the ways of an extract that are roads of a class that is driven on."""
    import osmium  # noqa: PLC0415  (an extra: most places have no road extract)

    try:
        roads = osmium.FileProcessor(file).with_locations()
        yield from roads.with_filter(osmium.filter.KeyFilter("highway"))
    except (RuntimeError, OSError, ValueError, osmium.InvalidLocationError) as error:
        raise input_fault(f"it cannot be read as an extract ({error})", FETCH) from None


class _Gathered:
    """Nodes and arcs, gathered way by way."""

    def __init__(self, speeds: dict[str, float]) -> None:
        self.speeds = speeds
        self.number: dict[int, int] = {}
        self.lon_lat: list[tuple[float, float]] = []
        self.ends: list[tuple[int, int]] = []
        self.mph: list[float] = []

    def add(self, way: Any, box: tuple[float, ...]) -> None:
        """Take the stretches of a way that lie in a box."""
        if not way.is_way():
            return
        mph = self._speed(way.tags)
        if mph is None:
            return
        forward, backward = directions(way.tags)
        before = None
        for node in way.nodes:
            here = self._node(node, box)
            if before is not None and here is not None and here != before:
                if forward:
                    self.ends.append((before, here))
                    self.mph.append(mph)
                if backward:
                    self.ends.append((here, before))
                    self.mph.append(mph)
            before = here

    def _node(self, node: Any, box: tuple[float, ...]) -> int | None:
        """Return the number of a node; None if its place is not known or lies outside."""
        if not node.location.valid():
            return None
        lon, lat = node.location.lon, node.location.lat
        if not (box[0] <= lon <= box[2] and box[1] <= lat <= box[3]):
            return None
        found = self.number.get(node.ref)
        if found is None:
            found = self.number[node.ref] = len(self.lon_lat)
            self.lon_lat.append((lon, lat))
        return found

    def _speed(self, tags: Any) -> float | None:
        """Return the speed on a road [mph]; None where a truck does not drive."""
        usual = self.speeds.get(tags.get("highway", ""))
        if usual is None or tags.get("area", "") == "yes":
            return None
        if tags.get("motor_vehicle", tags.get("vehicle", tags.get("access", ""))) in NO_ENTRY:
            return None
        posted = limit_mph(tags.get("maxspeed", ""))
        return usual if posted is None else posted * self.speeds["posted_share"]

    def arrays(self) -> tuple[Floats, NDArray[np.int64], Floats, Floats]:
        """Return what was gathered."""
        lon_lat = np.array(self.lon_lat, dtype=np.float64).reshape(-1, 2)
        ends = np.array(self.ends, dtype=np.int64).reshape(-1, 2)
        here, there = lon_lat[ends[:, 0]], lon_lat[ends[:, 1]]
        _, _, metres = Geod(ellps="WGS84").inv(here[:, 0], here[:, 1], there[:, 0], there[:, 1])
        lengths = np.asarray(metres, dtype=np.float64)
        speed = np.array(self.mph, dtype=np.float64) * METRES_PER_SECOND_PER_MPH
        return lon_lat, ends, lengths, lengths / speed


def limit_mph(text: str) -> float | None:
    """Return a posted limit [mph]: a bare number is in kilometres an hour; None if it is none."""
    found = _LIMIT.fullmatch(text.strip())
    if found is None or not 3 <= int(found[1]) <= 160:
        return None
    number = float(found[1])
    return number if found[2] == "mph" else number / KILOMETRES_PER_MILE


def directions(tags: Any) -> tuple[bool, bool]:
    """Return whether a road is driven forward, and whether backward."""
    one_way = tags.get("oneway", "")
    if one_way in {"-1", "reverse"}:
        return False, True
    is_one_way = one_way in {"yes", "true", "1"} or tags.get("junction", "") == "roundabout"
    if not one_way and tags.get("highway", "") in {"motorway", "motorway_link"}:
        is_one_way = True
    return True, not is_one_way


if __name__ == "__main__":
    main(sys.argv[1:])
