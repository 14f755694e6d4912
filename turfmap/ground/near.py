"""What lies near zones: looked up by boxes, decided exactly, drawn once for each tile."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from turfmap.foundations import plane
from turfmap.foundations.plane import METRES_PER_DEGREE_AT_LEAST, Floats
from turfmap.foundations.shapes import Shapes, grouped_union
from turfmap.ground import nospray

Indices = NDArray[np.int64]

# Long lines are looked up in pieces, so that a zone meets only the stretch that is near it.
CORNERS_A_PIECE = 16
# The same for the shores of lakes with more corners than this.
CORNERS_OF_A_LAKE = 128


@dataclass(frozen=True)
class Things:
    """Features that take ground from zones.

    Attributes
    ----------
    shapes
        Points, lines or areas in EPSG:4326, shape (m,).
    radius_m
        Ground is taken this far from each, shape (m,) [m]: half the width of an obstacle drawn as
        a line, the setback plus margin of a protected feature. 0 takes the shape itself.
    """

    shapes: Shapes
    radius_m: Floats


@dataclass(frozen=True)
class Surroundings:
    """Things ready to be looked up; made once, used for a whole region or for one edited zone.

    Attributes
    ----------
    pieces
        Points, short lines and areas in EPSG:4326, shape (p,).
    owner
        The thing each piece is of, ascending, shape (p,).
    radius_m
        How far each piece reaches on a plane, shape (p,) [m].
    count
        How many things there are.
    tree
        Their boxes, grown by the radius.
    """

    pieces: Shapes
    owner: Indices
    radius_m: Floats
    count: int
    tree: shapely.STRtree


@dataclass(frozen=True)
class Blades:
    """What each near thing takes from each zone, on the zone's plane: one row a pair.

    Rows are ordered by zone, then by thing.
    """

    zone: Indices
    thing: Indices
    shape: Shapes


def obstacles_around(things: Things) -> Surroundings:
    """Make obstacles ready: each takes its own ground and its radius."""
    return _surroundings(things.shapes, things.radius_m)


def protected_around(things: Things) -> Surroundings:
    """Make protected features ready: each takes its setback, never less (see `nospray`)."""
    return _surroundings(things.shapes, nospray.reaches(things.shapes, things.radius_m))


def _surroundings(shapes: Shapes, radius_m: Floats) -> Surroundings:
    pieces, owner, grows = _pieces(shapes, radius_m)
    radius = np.where(grows, radius_m[owner], 0.0)
    return Surroundings(pieces, owner, radius, shapes.size, shapely.STRtree(_boxed(pieces, radius)))


def _boxed(pieces: Shapes, radius_m: Floats) -> Shapes:
    """Return shapes whose boxes are those of the pieces, grown by their radius.

    A piece that does not grow stands for itself and takes no memory, unless it crosses the
    antimeridian. A missing one has a box of NaN, which a tree leaves out.
    """
    boxes = grown(plane.bounds(pieces), radius_m)
    other = (boxes != shapely.bounds(pieces)).any(axis=1)
    boxed = pieces.copy()
    boxed[other] = as_diagonals(boxes[other])
    return boxed


def grown(boxes: Floats, radius_m: Floats) -> Floats:
    """Grow boxes by a distance, a little generously: the exact test comes later."""
    north_south = 1.01 * radius_m / METRES_PER_DEGREE_AT_LEAST
    furthest = np.maximum(np.abs(boxes[:, 1]), np.abs(boxes[:, 3])) + north_south
    # Near a pole every longitude is near.
    narrowing = np.cos(np.radians(np.minimum(furthest, 89.99)))
    east_west = np.minimum(north_south / narrowing, 180.0)
    grown: Floats = boxes + np.column_stack([-east_west, -north_south, east_west, north_south])
    return grown


def as_diagonals(boxes: Floats) -> Shapes:
    """Return a line across each box, shape (n,); None for a box of NaN."""
    shapes = np.full(len(boxes), None, dtype=object)
    there = ~np.isnan(boxes[:, 0])
    # A diagonal has the box, for a third of the memory of four sides.
    shapes[there] = shapely.linestrings(boxes[there].reshape(-1, 2, 2))
    return shapes


def _pieces(shapes: Shapes, radius_m: Floats) -> tuple[Shapes, Indices, NDArray[np.bool_]]:
    """Cut collections into single shapes, long lines into short ones, lakes into shore and rest.

    Returns the pieces, their owners (ascending), and which of them grow by the radius: the inside
    of a lake does not need to, its shore does that.
    """
    parts, owner = shapes, np.arange(shapes.size)
    if (shapely.get_type_id(shapes) > shapely.GeometryType.POLYGON).any():
        parts, owner = shapely.get_parts(shapes, return_index=True)
    kind, corners = shapely.get_type_id(parts), shapely.get_num_coordinates(parts)
    is_line = (kind == shapely.GeometryType.LINESTRING) & (corners > CORNERS_A_PIECE)
    is_lake = (kind == shapely.GeometryType.POLYGON) & (corners > CORNERS_OF_A_LAKE)
    is_lake &= radius_m[owner] > 0.0
    lines, of = shapely.get_parts(shapely.boundary(parts[is_lake]), return_index=True)
    lines = np.concatenate([parts[is_line], lines])
    line_owner = np.concatenate([owner[is_line], owner[is_lake][of]])
    short, which = _short_lines(lines)
    pieces = np.concatenate([parts[~is_line], short])
    owners = np.concatenate([owner[~is_line], line_owner[which]])
    grows = np.concatenate([~is_lake[~is_line], np.ones(short.size, dtype=bool)])
    order = np.argsort(owners, kind="stable")
    return pieces[order], owners[order], grows[order]


def _short_lines(lines: Shapes) -> tuple[Shapes, Indices]:
    """Cut lines into pieces of at most 16 corners, ends shared; also whose each is."""
    if not lines.size:
        return lines, np.empty(0, dtype=np.int64)
    step = CORNERS_A_PIECE - 1
    corners, whose = shapely.get_coordinates(lines, return_index=True)
    place, count = turns(whose)
    # Pieces begin at every fifteenth corner but the last, and share it with the piece before.
    begins = np.flatnonzero((place % step == 0) & (place + 1 < count))
    length = np.minimum(step, (count - place)[begins] - 1) + 1
    piece = np.repeat(np.arange(begins.size), length)
    along = np.arange(piece.size) - np.repeat(np.cumsum(length) - length, length)
    pieces: Shapes = shapely.linestrings(corners[begins[piece] + along], indices=piece)
    return pieces, whose[begins]


def blades(flat: Shapes, boxes: Floats, origin: Floats, around: Surroundings) -> Blades:
    """Return what each near thing takes out of each zone.

    Parameters
    ----------
    flat
        Zones on the planes of `origin`, shape (n,) [m].
    boxes
        Their lon/lat boxes, shape (n, 4) [deg]; NaN for a missing zone, which is near nothing.
    origin
        Longitude and latitude of each zone's plane, shape (n, 2) [deg].
    around
        The things, from `obstacles_around` or `protected_around`.
    """
    zone, piece = near_pairs(boxes, around.tree)
    # Zones of one tile share a plane: each piece is flattened and drawn once for each tile.
    tiles, tile = np.unique(origin[zone], axis=0, return_inverse=True)
    keys, place = np.unique(piece * len(tiles) + tile, return_inverse=True)
    which, on_tile = np.divmod(keys, max(len(tiles), 1))
    flat_pieces = plane.laid_flat(around.pieces[which], tiles[on_tile])
    radius = around.radius_m[which]
    near = _meet(flat[zone], flat_pieces[place], radius[place])
    zone, piece, place = zone[near], piece[near], place[near]
    drawn = flat_pieces.copy()
    grow = np.unique(place[radius[place] > 0.0])
    drawn[grow] = nospray.drawn_round(flat_pieces[grow], radius[grow])
    shape, pair = grouped_union(drawn[place], zone * around.count + around.owner[piece])
    of_zone, thing = np.divmod(pair, max(around.count, 1))
    return Blades(of_zone, thing, shape)


def _meet(zones: Shapes, things: Shapes, radius_m: Floats) -> NDArray[np.bool_]:
    """Tell which pairs come within the radius; where that is 0, whether they touch is quicker."""
    grows = radius_m > 0.0
    near = np.empty(zones.size, dtype=bool)
    # The stubs know only one distance for all.
    near[grows] = shapely.dwithin(zones[grows], things[grows], radius_m[grows])  # type: ignore[call-overload]
    near[~grows] = shapely.intersects(zones[~grows], things[~grows])
    return near


def near_pairs(boxes: Floats, tree: shapely.STRtree) -> tuple[Indices, Indices]:
    """Return the pairs of zones and pieces whose boxes meet, ordered by zone, then piece."""
    zones = np.flatnonzero(~np.isnan(boxes[:, 0]))
    # The same ground has longitudes 360 degrees apart on either side of the antimeridian.
    at_the_edge = zones.size and np.abs(boxes[zones][:, [0, 2]]).max() > 179.0
    found = [
        tree.query(as_diagonals(boxes[zones] + [turn, 0.0, turn, 0.0]))
        for turn in ((-360.0, 0.0, 360.0) if at_the_edge else (0.0,))
    ]
    zone, piece = np.unique(np.concatenate(found, axis=1), axis=1)
    return zones[zone], piece


def turns(zone: Indices) -> tuple[Indices, Indices]:
    """Return each row's place among those of its zone, and how many rows that zone has.

    Parameters
    ----------
    zone
        The zone of each row, ascending, shape (p,).
    """
    starts = np.flatnonzero(np.r_[True, zone[1:] != zone[:-1]][: zone.size])
    counts = np.diff(np.r_[starts, zone.size])
    return np.arange(zone.size) - np.repeat(starts, counts), np.repeat(counts, counts)
