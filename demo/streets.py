"""Lots along curved streets, each in its street's own coordinates.

s runs along the street, t back from the kerb, both in metres; `Lot.bend` turns them into places
on the plane. Lots of one side share their side lines exactly.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from demo.drawing import Chance, Layers, Point, Points, Row, polygon

# Name, start east and north of the estate's corner [m], heading [degrees from east], turn over
# its length [degrees].
STREETS = (
    ("Wren Bend", 400.0, -40.0, 4.0, 24.0),
    ("Heron Row", 380.0, 125.0, 10.0, -20.0),
    ("Juniper Rise", 400.0, 270.0, -6.0, 30.0),
    ("Thistledown Way", 740.0, -20.0, 58.0, 26.0),
    ("Catkin Close", 760.0, 330.0, 82.0, -34.0),
)
LOTS_A_SIDE = 6
VERGE_M = 7.0

Bend = Callable[[float, float], Point]


@dataclass
class Lot:
    """One client's ground, in its street's coordinates [m]: s from 0 to `front`, t from 0 back."""

    name: str
    front: float
    depths: Point
    bend: Bend
    chance: Chance
    layers: Layers

    def depth(self, s: float) -> float:
        """Return how far back the lot reaches at s [m]."""
        left, right = self.depths
        return left + (right - left) * s / self.front

    def world(self, points: Points) -> Points:
        """Return street coordinates as places on the plane."""
        return [self.bend(s, t) for s, t in points]

    def add(self, layer: str, shape: Row, **values: object) -> None:
        """Put a row into a layer; empty values are left out."""
        row = {name: value for name, value in values.items() if value != ""}
        self.layers.setdefault(layer, []).append(row | {"geometry": shape})

    def add_zone(self, name: str, shell: Points, *holes: Points, **values: object) -> None:
        """Put a zone into its layer."""
        shape = polygon(self.world(shell), *(self.world(hole) for hole in holes))
        self.add("zone", shape, name=name, property=self.name, **values)


def lots(chance: Chance, layers: Layers) -> Iterator[Lot]:
    """Yield the lots of every street, both sides, still empty."""
    for street, east, north, heading, turn in STREETS:
        fronts = [chance.between(24, 42) for _ in range(LOTS_A_SIDE)]
        arc = _arc((east, north), heading, math.radians(turn) / sum(fronts))
        for side, first_number in ((1, 1), (-1, 2)):
            depths = [chance.between(32, 68) for _ in range(LOTS_A_SIDE + 1)]
            for place, front in enumerate(fronts):
                name = f"{first_number + 2 * place} {street}"
                bend = _bend(arc, sum(fronts[:place]), side)
                yield Lot(name, front, (depths[place], depths[place + 1]), bend, chance, layers)


def _arc(start: Point, heading: float, curvature: float) -> Callable[[float], tuple[Point, float]]:
    """Return the street's middle: from metres along it to the place and the heading there."""
    first = math.radians(heading)

    def at(s: float) -> tuple[Point, float]:
        angle = first + curvature * s
        east = start[0] + (math.sin(angle) - math.sin(first)) / curvature
        north = start[1] - (math.cos(angle) - math.cos(first)) / curvature
        return (east, north), angle

    return at


def _bend(arc: Callable[[float], tuple[Point, float]], start: float, side: int) -> Bend:
    def bend(s: float, t: float) -> Point:
        (east, north), angle = arc(start + s)
        off = side * (VERGE_M + t)
        return east - off * math.sin(angle), north + off * math.cos(angle)

    return bend
