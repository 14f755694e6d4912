"""What is odd about drawn zones: broken, thin, doubled, over the line, or leaving gaps."""

from dataclasses import dataclass, replace

import numpy as np
import shapely

from turfmap.foundations import plane
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes, area_parts, is_area, is_present, repaired
from turfmap.ground.near import Indices
from turfmap.ground.nospray import published
from turfmap.ground.overlaps import overlaps
from turfmap.ground.seams import SAME_CORNER_M, SMALLEST_M2, narrow_gaps

# Narrower than this on average, a zone is a leftover of drawing, not ground to treat.
SLIVER_WIDTH_M = 0.3


@dataclass(frozen=True)
class Oddity:
    """One thing to look at.

    Attributes
    ----------
    problem
        What it is: broken, no_ground, repeated_corners, sliver, overlap, gap, over_the_line; of
        properties shared_line.
    zone
        The zone that has it.
    other
        The other zone of an overlap (the one that keeps the ground), or -1.
    area_m2
        How much ground it is about [m2].
    words
        What is wrong, in words.
    shape
        Where, in EPSG:4326; None where there is nothing to draw.
    """

    problem: str
    zone: int
    other: int
    area_m2: float
    words: str
    shape: shapely.Geometry | None


def oddities(zones: Shapes, rank: Floats, owner: Indices, properties: Shapes) -> list[Oddity]:
    """Look at every zone.

    Parameters
    ----------
    zones
        Areas in EPSG:4326 as they were drawn, broken ones too, shape (n,).
    rank
        Who owns ground that is drawn twice, shape (n,); see `overlaps`.
    owner
        The property of each zone, -1 for none, shape (n,).
    properties
        Outlines in EPSG:4326, shape (m,); missing where none was drawn.
    """
    mended, repairs = repaired(zones)
    boxes = plane.bounds(mended)
    origin = np.nan_to_num(plane.origins(boxes))
    flat = plane.laid_flat(mended, origin)
    broken = [
        Oddity("broken", one.index, -1, float(flat[one.index].area), one.problem, mended[one.index])
        for one in repairs
    ]
    there = np.flatnonzero(is_present(mended) & is_area(mended))
    missing = np.setdiff1d(np.arange(zones.size), there)
    return [
        *broken,
        *(Oddity("no_ground", int(i), -1, 0.0, "it has no area", None) for i in missing),
        *_repeated_corners(zones, flat, there),
        *_slivers(mended, flat, there),
        *drawn_twice(mended, rank),
        *over_the_line(mended, owner, properties),
        *gaps(mended, owner),
    ]


def shared_lines(properties: Shapes) -> list[Oddity]:
    """Find properties that share ground: two people would answer for it.

    Parameters
    ----------
    properties
        Valid outlines in EPSG:4326, shape (m,); missing where none was drawn.

    Returns
    -------
    list of Oddity
        With ``zone`` and ``other`` the places of two properties. What is thinner than a sliver is
        left out: lines that two surveys drew along one fence stray by so much.
    """
    found = drawn_twice(properties, np.zeros(properties.size))
    shared = np.array([one.shape for one in found], dtype=object)
    where = plane.laid_flat(shared, plane.origins(plane.bounds(shared)))
    wide = 2.0 * shapely.area(where) >= SLIVER_WIDTH_M * shapely.length(where)
    return [
        replace(one, problem="shared_line")
        for one, is_wide in zip(found, wide, strict=True)
        if is_wide
    ]


def _repeated_corners(zones: Shapes, flat: Shapes, there: Indices) -> list[Oddity]:
    plain = shapely.remove_repeated_points(flat[there], SAME_CORNER_M)
    extra = shapely.get_num_coordinates(flat[there]) - shapely.get_num_coordinates(plain)
    return [
        Oddity("repeated_corners", int(i), -1, 0.0, f"{count} corners repeat others", zones[i])
        for i, count in zip(there[extra > 0], extra[extra > 0], strict=True)
    ]


def _slivers(zones: Shapes, flat: Shapes, there: Indices) -> list[Oddity]:
    area, length = shapely.area(flat[there]), shapely.length(flat[there])
    width = 2.0 * area / length
    thin = width < SLIVER_WIDTH_M
    return [
        Oddity("sliver", int(i), -1, float(m2), f"it is {100 * across:.0f} cm wide", zones[i])
        for i, m2, across in zip(there[thin], area[thin], width[thin], strict=True)
    ]


def drawn_twice(zones: Shapes, rank: Floats) -> list[Oddity]:
    """Find ground that two zones share; `zones` are valid, shape (n,). See `oddities`."""
    there = np.flatnonzero(is_present(zones) & is_area(zones))
    origin = np.nan_to_num(plane.origins(plane.bounds(zones)))
    found = overlaps(zones[there], rank[there])
    owners, losers = there[found.owner], there[found.loser]
    ground = origin[losers]
    shared = area_parts(
        shapely.intersection(
            plane.laid_flat(zones[owners], ground), plane.laid_flat(zones[losers], ground)
        )
    )
    area = shapely.area(shared)
    large = np.flatnonzero(area > SMALLEST_M2)
    shapes = published(shared[large], ground[large])
    return [
        Oddity("overlap", int(losers[row]), int(owners[row]), float(area[row]), "", shape)
        for row, shape in zip(large, shapes, strict=True)
    ]


def over_the_line(zones: Shapes, owner: Indices, properties: Shapes) -> list[Oddity]:
    """Find zones that go beyond the line of their property; `zones` are valid. See `oddities`."""
    there = np.flatnonzero(is_present(zones) & is_area(zones))
    origin = np.nan_to_num(plane.origins(plane.bounds(zones)))
    flat = plane.laid_flat(zones, origin)
    rows = there[owner[there] >= 0]
    rows = rows[is_present(properties[owner[rows]])]
    outline = plane.laid_flat(properties[owner[rows]], origin[rows])
    outside = area_parts(shapely.difference(flat[rows], outline))
    area = shapely.area(outside)
    # A line drawn twice by hand strays by some hands' breadths along all of its length.
    large = np.flatnonzero(area > SLIVER_WIDTH_M * shapely.length(flat[rows]) / 2.0)
    shapes = published(outside[large], origin[rows[large]])
    return [
        Oddity("over_the_line", int(rows[row]), -1, float(area[row]), "", shape)
        for row, shape in zip(large, shapes, strict=True)
    ]


def gaps(zones: Shapes, owner: Indices) -> list[Oddity]:
    """Find narrow ground between zones of one property that no zone has. See `oddities`."""
    found = []
    for of in np.unique(owner[owner >= 0]):
        rows = np.flatnonzero((owner == of) & is_present(zones))
        if rows.size < 2:
            continue
        origin = np.repeat(plane.origins(plane.bounds(zones[rows[:1]])), rows.size, axis=0)
        flat = plane.laid_flat(zones[rows], origin)
        for part in narrow_gaps(flat):
            nearest = rows[int(np.argmin(shapely.distance(flat, part)))]
            shape = published(np.array([part], dtype=object), origin[:1])[0]
            found.append(Oddity("gap", int(nearest), -1, float(part.area), "", shape))
    return found
