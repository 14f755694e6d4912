"""A made-up region of any size: properties, what is on them, and what is protected near them.

All of it is invented, the setbacks too; it is for measuring speed and nothing else. The density
is the same at every size, so that the work a property takes does not depend on the size.
"""

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]
Shapes = NDArray[np.object_]

CATEGORIES = ("stream", "pond", "well", "site")
SETBACKS_M = np.array([15.0, 8.0, 30.0, 60.0])

WEST, SOUTH = -84.0, 33.5
METRES_A_DEGREE = np.array([92_900.0, 110_900.0])
PITCH_M = 260.0  # one property every 260 m, room for 5 ha and a lane
EDITS = 20  # zones that are edited, one at a time
SHAPES = ("zones", "obstacles", "protected")
NUMBERS = ("owner", "rank", "obstacle_owner", "category")
BLOCK = 10_000  # properties or shapes handled at a time: bounds the memory

# What a property has, in this order, as far as its number of zones goes: 3 to 8, 5.58 on average.
KINDS = ("turf", "house", "bed", "drive", "turf", "woods", "bed", "bed")
HOW_OFTEN = (0.15, 0.16, 0.17, 0.17, 0.18, 0.17)
# Where it lies and how large it is, as shares of the side of the parcel: lawns never meet, nor
# beds, but beds and obstacles lie in and over lawns.
MIDDLE = np.array(
    [
        [0.0, -0.22],
        [0.1, 0.0],
        [-0.05, -0.05],
        [0.0, 0.0],
        [0.0, 0.26],
        [-0.2, 0.15],
        [0.22, 0.08],
        [-0.2, -0.28],
    ]
)
RADIUS = np.array([0.16, 0.0, 0.07, 0.0, 0.135, 0.2, 0.06, 0.075])
LAWNS_ARE_LONGER = np.array([1.8, 1.0])


@dataclass(frozen=True)
class Region:
    """Target zones, obstacles and protected features in EPSG:4326.

    Attributes
    ----------
    zones, owner
        Turf and beds, shape (n,), and the property of each.
    rank
        Whose the ground is that two zones share: 0 for beds, 1 for turf.
    obstacles, obstacle_owner
        Houses, drives and woods, shape (m,), and the property of each.
    protected, category
        Features with a setback, shape (p,), and the place of each one's category in CATEGORIES.
    """

    zones: Shapes
    owner: Indices
    rank: Floats
    obstacles: Shapes
    obstacle_owner: Indices
    protected: Shapes
    category: Indices

    @property
    def distance_m(self) -> Floats:
        """The setback of each protected feature [m]."""
        distances: Floats = SETBACKS_M[self.category]
        return distances

    @property
    def edited(self) -> Indices:
        """Zones to edit one at a time, spread evenly over the region, shape (20,)."""
        return np.arange(EDITS) * self.zones.size // EDITS


def made(properties: int, seed: int = 33) -> Region:
    """Make a region of a number of properties."""
    starts = range(0, properties, BLOCK)
    blocks = [_block(start, min(start + BLOCK, properties), properties, seed) for start in starts]
    zones, owner, rank, *hard = (np.concatenate(each) for each in zip(*blocks, strict=True))
    protected, category = _protected(np.random.default_rng([seed, properties]), properties)
    return Region(zones, owner, rank, hard[0], hard[1], protected, category)


def _block(start: int, stop: int, properties: int, seed: int) -> tuple[NDArray[Any], ...]:
    """Make the zones and obstacles of a run of properties."""
    rng = np.random.default_rng([seed, start])
    who = np.arange(start, stop)
    side_m = np.sqrt(10_000.0 * np.exp(rng.uniform(np.log(0.1), np.log(5.0), who.size)))
    columns = int(np.ceil(np.sqrt(properties)))
    corner = PITCH_M * np.column_stack([who % columns, who // columns])
    middle = corner + PITCH_M / 2 + rng.uniform(-15.0, 15.0, (who.size, 2))
    count = rng.choice(np.arange(3, 9), who.size, p=HOW_OFTEN)

    which, slot = np.nonzero(count[:, None] > np.arange(len(KINDS)))
    kind = np.array(KINDS)[slot]
    is_turf = kind == "turf"
    spread = rng.uniform(-0.015, 0.015, (slot.size, 2)) * ~is_turf[:, None]
    at = middle[which] + side_m[which, None] * (MIDDLE[slot] + spread)
    drawn = np.empty(slot.size, dtype=object)
    is_house, is_drive = kind == "house", kind == "drive"
    drawn[is_house] = _houses(rng, at[is_house], side_m[which][is_house])
    drawn[is_drive] = _drives(rng, at[is_drive], side_m[which][is_drive])
    is_blob = ~is_house & ~is_drive
    radius_m = (side_m[which] * RADIUS[slot] * rng.uniform(0.8, 1.2, slot.size))[:, None]
    radius_m = np.where(is_turf[:, None], LAWNS_ARE_LONGER, 1.0) * radius_m
    drawn[is_blob] = _blobs(rng, at[is_blob], radius_m[is_blob])
    zone, owner = is_turf | (kind == "bed"), who[which]
    return drawn[zone], owner[zone], is_turf[zone].astype(float), drawn[~zone], owner[~zone]


def _blobs(rng: np.random.Generator, middle_m: Floats, radius_m: Floats) -> Shapes:
    """Draw wavy, not convex shapes of 7 to 200 corners, 74 on average."""
    corners = np.clip(rng.lognormal(np.log(64.0), 0.55, len(middle_m)), 7, 200).astype(np.int64)
    whose = np.repeat(np.arange(corners.size), corners)
    place = np.arange(whose.size) - np.repeat(np.cumsum(corners) - corners, corners)
    angle = 2 * np.pi * (place + 0.6 * rng.random(whose.size)) / corners[whose]
    turned = rng.uniform(0.0, 2 * np.pi, (2, corners.size))
    waves = 0.22 * np.sin(3 * angle + turned[0, whose]) + 0.12 * np.sin(
        7 * angle + turned[1, whose]
    )
    unit = (1.0 + waves)[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    xy = middle_m[whose] + radius_m[whose] * unit
    return _polygons(xy, whose)


def _houses(rng: np.random.Generator, middle_m: Floats, side_m: Floats) -> Shapes:
    """Draw L-shaped houses, turned any way."""
    outline = np.array([[-1, -1], [1, -1], [1, 0.1], [0.1, 0.1], [0.1, 1], [-1, 1]])
    half_m = np.minimum(rng.uniform(5.0, 11.0, side_m.size), 0.15 * side_m)
    return _placed(rng, middle_m, half_m[:, None, None] * outline)


def _drives(rng: np.random.Generator, middle_m: Floats, side_m: Floats) -> Shapes:
    """Draw drives: bent strips, 3.5 m wide, as long as 0.6 of the parcel."""
    along = np.linspace(-0.3, 0.3, 30)
    east = along * side_m[:, None]
    north = 0.08 * side_m[:, None] * np.sin(8.0 * along + rng.uniform(0, 6, (side_m.size, 1)))
    edge = np.stack([east, north], axis=-1)
    half = np.array([0.0, 1.75])
    return _placed(rng, middle_m, np.concatenate([edge - half, edge[:, ::-1] + half], axis=1))


def _placed(rng: np.random.Generator, middle_m: Floats, outline_m: Floats) -> Shapes:
    """Turn outlines of one number of corners, shape (n, k, 2), and put them in their places."""
    turn = rng.uniform(0.0, 2 * np.pi, len(middle_m))
    matrix = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    xy = np.einsum("nkj,jin->nki", outline_m, matrix) + middle_m[:, None]
    return _polygons(xy.reshape(-1, 2), np.repeat(np.arange(len(xy)), xy.shape[1]))


def _polygons(xy_m: Floats, whose: Indices) -> Shapes:
    rings = shapely.linearrings(lonlat(xy_m), indices=whose)
    return np.asarray(shapely.polygons(rings), dtype=object)


def lonlat(xy_m: Floats) -> Floats:
    """Return where points of the region's plane lie, shape (n, 2) [deg]."""
    found: Floats = np.array([WEST, SOUTH]) + xy_m / METRES_A_DEGREE
    return found


def _protected(rng: np.random.Generator, properties: int) -> tuple[Shapes, Indices]:
    """Make protected features, such that about 8 % of the zones are within a setback."""
    across_m = PITCH_M * np.sqrt(properties)

    def anywhere(count: int) -> Floats:
        return rng.uniform(0.0, across_m, (max(count, 1), 2))

    ponds, wells, sites = (anywhere(properties // often) for often in (20, 5, 16))
    found = (
        _streams(rng, anywhere(3 * properties // 1000)),
        _blobs(rng, ponds, rng.uniform(10.0, 60.0, (len(ponds), 1))),
        np.asarray(shapely.points(lonlat(wells)), dtype=object),
        _blobs(rng, sites, rng.uniform(15.0, 40.0, (len(sites), 1))),
    )
    return np.concatenate(found), np.repeat(np.arange(4), [each.size for each in found])


def _streams(rng: np.random.Generator, spring_m: Floats) -> Shapes:
    """Draw winding lines of 600 steps of 20 m."""
    heading = rng.uniform(0, 2 * np.pi, (len(spring_m), 1))
    heading = heading + np.cumsum(rng.normal(0.0, 0.12, (len(spring_m), 600)), axis=1)
    steps_m = 20.0 * np.stack([np.cos(heading), np.sin(heading)], axis=-1)
    xy_m = spring_m[:, None] + np.cumsum(steps_m, axis=1)
    return np.asarray(shapely.linestrings(lonlat(xy_m)), dtype=object)


def save(region: Region, folder: Path) -> None:
    """Write a region to a folder of plain arrays."""
    for name in SHAPES:
        _save_shapes(getattr(region, name), folder / name)
    for name in NUMBERS:
        np.save(folder / f"{name}.npy", getattr(region, name))


def load(folder: Path) -> Region:
    """Read a region back."""
    columns: dict[str, NDArray[Any]] = {name: _load_shapes(folder / name) for name in SHAPES}
    columns |= {name: np.load(folder / f"{name}.npy") for name in NUMBERS}
    return Region(**columns)


def _save_shapes(shapes: Shapes, path: Path) -> None:
    """Write shapes as WKB, one after another, and their lengths; block by block."""
    lengths = []
    with path.with_suffix(".wkb").open("wb") as file:
        for start in range(0, shapes.size, BLOCK):
            block = shapely.to_wkb(shapes[start : start + BLOCK])
            lengths += [len(each) for each in block]
            file.write(b"".join(block))
    np.save(path.with_suffix(".npy"), np.array(lengths))


def _load_shapes(path: Path) -> Shapes:
    lengths = np.load(path.with_suffix(".npy"))
    shapes = np.empty(lengths.size, dtype=object)
    with path.with_suffix(".wkb").open("rb") as file:
        for start in range(0, lengths.size, 1_000):
            block = [file.read(length) for length in lengths[start : start + 1_000]]
            shapes[start : start + 1_000] = shapely.from_wkb(block)
    return shapes


if __name__ == "__main__":
    # As a process of its own, so that its memory is not inherited by what is measured.
    save(made(int(sys.argv[1])), Path(sys.argv[2]))
    print("{}")
