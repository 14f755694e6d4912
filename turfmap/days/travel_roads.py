"""Driving times by road: shortest ways on a road graph, from every place to every other.

Time and length are one whole number to the search, time in front: so the way is the fastest, its
length comes with it, and nothing is rounded on the way. What was found stays known by pair of
places: a place that is new costs one search from it and one to it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components, dijkstra
from scipy.spatial import cKDTree

from turfmap.days.plan.problem import Travel
from turfmap.days.travel import Floats, metres_per_second, plane_m
from turfmap.foundations.definitions import table
from turfmap.foundations.errors import input_fault

Whole = NDArray[np.int64]

# Time in hundredths of a second before length in tenths of a metre: a way of up to 1,000 km and
# 250 h stays an exact whole number of a double.
LENGTHS = 1e7
PARTS_OF_A_SECOND, PARTS_OF_A_METRE = 100.0, 10.0
SOURCES_AT_ONCE = 64
# A place further from any road than this is not on the extract.
FARTHEST_FROM_A_ROAD_M = 2_000.0
# Further than this from the roads that hang together, something is missing: told, not refused.
FAR_FROM_A_ROAD_M = 500.0


@dataclass(frozen=True, eq=False)
class Roads:
    """A road graph.

    Attributes
    ----------
    lon_lat
        Its nodes [deg], shape (nodes, 2).
    ends
        From which node to which each arc goes, shape (arcs, 2).
    metres, seconds
        Length and driving time of each arc, shape (arcs,).
    source
        The file that it comes from.
    """

    lon_lat: Floats
    ends: Whole
    metres: Floats
    seconds: Floats
    source: str


class RoadTimes:
    """Driving times by the fastest way on a road graph."""

    def __init__(self, roads: Roads) -> None:
        self.roads = strongest_part(roads)
        weight = np.rint(self.roads.seconds * PARTS_OF_A_SECOND) * LENGTHS
        weight += np.rint(self.roads.metres * PARTS_OF_A_METRE)
        self._graph = _graph(self.roads.ends, np.maximum(weight, 1.0), len(self.roads.lon_lat))
        self._nodes = np.zeros(0, dtype=np.int64)
        self._known = np.zeros((0, 0))

    def between(self, lon_lat: Floats) -> Travel:
        """Return driving times by road; see `turfmap.days.travel.TravelTimes`.

        Raises
        ------
        InputFaultsError
            If a place lies far from every road of the extract.
        """
        node, apart_m = self._nearest(lon_lat)
        rows, place = np.unique(node, return_inverse=True)
        self._learn(rows)
        known = np.searchsorted(self._nodes, rows)[place]
        way = self._known[np.ix_(known, known)]
        to_road_s = apart_m / metres_per_second(_speeds()["to_the_road"])
        ends_m = apart_m[:, None] + apart_m[None]
        seconds = way // LENGTHS / PARTS_OF_A_SECOND + to_road_s[:, None] + to_road_s[None]
        metres = way % LENGTHS / PARTS_OF_A_METRE + ends_m
        for matrix in (seconds, metres):
            np.fill_diagonal(matrix, 0.0)
        return Travel(
            np.ceil(seconds).astype(np.int64),
            np.rint(metres).astype(np.int64),
            plane_m(lon_lat),
            basis=_basis(self.roads.source, int((apart_m > FAR_FROM_A_ROAD_M).sum())),
            source=self.roads.source,
        )

    def _nearest(self, lon_lat: Floats) -> tuple[Whole, Floats]:
        everything = plane_m(np.vstack([self.roads.lon_lat, lon_lat]))
        nodes, places = np.split(everything, [len(self.roads.lon_lat)])
        apart_m, node = cKDTree(nodes).query(places)
        if len(places) and float(apart_m.max()) > FARTHEST_FROM_A_ROAD_M:
            raise input_fault(
                f"a stop or depot lies {apart_m.max() / 1000.0:,.1f} km from its nearest road",
                "give an extract that covers all of them",
                file=self.roads.source,
            )
        return node.astype(np.int64), apart_m

    def _learn(self, nodes: Whole) -> None:
        """Find the ways from and to nodes that are new."""
        new = np.setdiff1d(nodes, self._nodes)
        if not new.size:
            return
        every = np.union1d(self._nodes, new)
        known = np.full((len(every), len(every)), np.nan)
        old, fresh = np.searchsorted(every, self._nodes), np.searchsorted(every, new)
        known[np.ix_(old, old)] = self._known
        known[fresh] = _ways(self._graph, new, every)
        if old.size:
            known[np.ix_(old, fresh)] = _ways(self._graph.T.tocsr(), new, self._nodes).T
        self._nodes, self._known = every, known


def _basis(source: str, far: int) -> str:
    said = f"Times by road, from {source}; traffic is not in them."
    if not far:
        return said
    where = "1 place lies" if far == 1 else f"{far:,} places lie"
    return (
        f"{said} {where} more than {FAR_FROM_A_ROAD_M:,.0f} m from the roads that hang together:"
        " the extract lacks something there, a bridge perhaps, and those times are guesses."
    )


def strongest_part(roads: Roads) -> Roads:
    """Return the largest part of a road graph in which every node can be reached from every other.

    Raises
    ------
    InputFaultsError
        If there are no roads.
    """
    if not len(roads.ends):
        raise input_fault("it holds no roads to drive on", "choose another", file=roads.source)
    count = len(roads.lon_lat)
    _, label = connected_components(
        _graph(roads.ends, np.ones(len(roads.ends)), count), connection="strong"
    )
    keep = label == np.bincount(label).argmax()
    number = np.cumsum(keep) - 1
    inside = keep[roads.ends].all(axis=1)
    return Roads(
        roads.lon_lat[keep],
        number[roads.ends[inside]],
        roads.metres[inside],
        roads.seconds[inside],
        roads.source,
    )


def _graph(ends: Whole, weight: Floats, nodes: int) -> "csr_array":
    """Return arcs as a sparse matrix; of arcs with the same ends the quickest stays."""
    order = np.lexsort((weight, ends[:, 1], ends[:, 0]))
    ends, weight = ends[order], weight[order]
    first = np.ones(len(ends), dtype=bool)
    first[1:] = (ends[1:] != ends[:-1]).any(axis=1)
    ends, weight = ends[first], weight[first]
    return csr_array((weight, (ends[:, 0], ends[:, 1])), shape=(nodes, nodes))


def _ways(graph: "csr_array", sources: Whole, targets: Whole) -> Floats:
    """Return the weight of the best way from each source to each target, some sources at a time."""
    parts = [
        dijkstra(graph, indices=sources[start : start + SOURCES_AT_ONCE])[:, targets]
        for start in range(0, len(sources), SOURCES_AT_ONCE)
    ]
    found: Floats = np.vstack(parts)
    return found


def _speeds() -> dict[str, float]:
    return {row["road"]: float(row["value"]) for row in table("road_speed").rows}
