"""Lines, rings and chance: metres on a small plane, written as GeoJSON longitude and latitude."""

import math
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

Point = tuple[float, float]
Points = list[Point]
Row = dict[str, Any]
Layers = dict[str, list[Row]]

# The zero of the plane, and metres a degree there on WGS 84 (the usual series in the latitude).
ORIGIN_LON, ORIGIN_LAT = -82.93, 33.52
_PHI = math.radians(ORIGIN_LAT)
METRES_PER_DEGREE_LAT = 111132.92 - 559.82 * math.cos(2 * _PHI) + 1.175 * math.cos(4 * _PHI)
METRES_PER_DEGREE_LON = 111412.84 * math.cos(_PHI) - 93.5 * math.cos(3 * _PHI)


class Chance:
    """Draws from one seeded stream.

    Only `numpy.random.Generator.random` is used: the other methods may draw differently from
    one version of numpy to the next.
    """

    def __init__(self, seed: int) -> None:
        self._stream = np.random.Generator(np.random.PCG64(seed))

    def between(self, low: float, high: float) -> float:
        """Return a number from `low` to `high`."""
        return low + (high - low) * float(self._stream.random())

    def happens(self, share: float) -> bool:
        """Return True in that share of the draws."""
        return float(self._stream.random()) < share

    def one_of(self, values: Sequence[str], shares: Sequence[float] | None = None) -> str:
        """Return one of the values, as often as its share says."""
        draw = float(self._stream.random())
        for value, share in zip(values, shares or [1 / len(values)] * len(values), strict=True):
            if draw < share:
                return value
            draw -= share
        return values[-1]


def smooth(points: Sequence[Sequence[float]], *, closed: bool, steps: int = 4) -> Points:
    """Return a Catmull-Rom curve through the points, `steps` pieces between neighbours."""
    knots = [(float(x), float(y)) for x, y in points]
    padded = [knots[-1], *knots, *knots[:2]] if closed else [knots[0], *knots, knots[-1]]
    curve = []
    for a, b, c, d in zip(padded, padded[1:], padded[2:], padded[3:], strict=False):
        curve += [_between(a, b, c, d, step / steps) for step in range(steps)]
    return curve if closed else [*curve, knots[-1]]


def _between(a: Point, b: Point, c: Point, d: Point, t: float) -> Point:
    x, y = (
        0.5
        * (2 * q + (r - p) * t + (2 * p - 5 * q + 4 * r - s) * t**2 + (3 * (q - r) + s - p) * t**3)
        for p, q, r, s in zip(a, b, c, d, strict=True)
    )
    return x, y


def blob(chance: Chance, centre: Point, across_m: Point, *, count: int = 20) -> Points:
    """Return a lumpy oval ring: two low waves on an ellipse of these half-axes."""
    phases = [chance.between(0, 2 * math.pi) for _ in range(2)]
    ring = []
    for turn in (2 * math.pi * i / count for i in range(count)):
        lump = 1 + 0.09 * math.sin(2 * turn + phases[0]) + 0.06 * math.sin(3 * turn + phases[1])
        ring.append(
            (
                centre[0] + across_m[0] * lump * math.cos(turn),
                centre[1] + across_m[1] * lump * math.sin(turn),
            )
        )
    return ring


def polygon(shell: Points, *holes: Points) -> Row:
    """Return a GeoJSON polygon, rings closed and turning as RFC 7946 asks."""
    turned = [_turned(shell, left=True), *(_turned(hole, left=False) for hole in holes)]
    return {"type": "Polygon", "coordinates": [_lonlat([*ring, ring[0]]) for ring in turned]}


def line(points: Points) -> Row:
    """Return a GeoJSON line."""
    return {"type": "LineString", "coordinates": _lonlat(points)}


def point(place: Sequence[float]) -> Row:
    """Return a GeoJSON point."""
    return {"type": "Point", "coordinates": _lonlat([(place[0], place[1])])[0]}


def crown(centre: Sequence[float], radius_m: float) -> Points:
    """Return the round outline of a tree's crown."""
    turns = (2 * math.pi * i / 16 for i in range(16))
    return [(centre[0] + radius_m * math.cos(t), centre[1] + radius_m * math.sin(t)) for t in turns]


def _turned(ring: Points, *, left: bool) -> Points:
    pairs = zip(ring, [*ring[1:], ring[0]], strict=True)
    turns_left = sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairs) > 0
    return ring if turns_left == left else ring[::-1]


def _lonlat(points: Iterable[Point]) -> list[list[float]]:
    return [
        [
            round(ORIGIN_LON + x / METRES_PER_DEGREE_LON, 7),
            round(ORIGIN_LAT + y / METRES_PER_DEGREE_LAT, 7),
        ]
        for x, y in points
    ]
