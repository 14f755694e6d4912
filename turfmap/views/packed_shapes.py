"""Shapes as columns of small whole numbers: every corner kept, in a sixth of the usual size."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

# One step is 2e-7 degree, 22 mm on the ground: nearer than an edge of ground can be known.
STEPS_PER_DEGREE = 5_000_000

# The letters of base 64 (RFC 4648, table 1), each standing for six bits.
_LETTERS = np.frombuffer(
    b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/", dtype=np.uint8
)

POINT, LINE, RING = 0, 1, 2


def packed_shapes(geometries: Sequence[shapely.Geometry | None]) -> dict[str, Any]:
    """Return shapes of any type as columns that the page unpacks.

    Parameters
    ----------
    geometries
        Shapes in WGS 84 longitude and latitude [degree]; None and empty have no parts.

    Returns
    -------
    dict
        ``parts``: how many parts each shape has; ``kinds``: what each part is (0 a point, 1 a line,
        2 a ring); ``sizes``: how many corners each part has; ``steps``: longitude and latitude in
        turn, each as the difference from the corner before it [2e-7 degree], as `sixes` writes
        them. A ring's closing corner is left out. Rings of one shape are filled by the even-odd
        rule, so holes need no mark.
    """
    lines, owners = _parts(np.asarray(geometries, dtype=object))
    kinds = _part_kinds(lines)
    corners, part_of = shapely.get_coordinates(lines, return_index=True)
    is_last = np.append(part_of[1:] != part_of[:-1], True)[: len(part_of)]
    kept = ~(is_last & (kinds[part_of] == RING)) if len(part_of) else np.zeros(0, dtype=bool)
    whole = np.rint(corners[kept] * STEPS_PER_DEGREE).astype(np.int64)
    steps = np.diff(whole, axis=0, prepend=np.zeros((1, 2), dtype=np.int64))
    return {
        "parts": np.bincount(owners, minlength=len(geometries)).tolist(),
        "kinds": kinds.tolist(),
        "sizes": np.bincount(part_of[kept], minlength=len(lines)).tolist(),
        "steps": sixes(steps.ravel()),
    }


def sixes(numbers: NDArray[np.int64]) -> dict[str, Any]:
    """Return whole numbers as two rows of letters, with what few of them have above twelve bits.

    Parameters
    ----------
    numbers
        Whole numbers of fewer than 32 bits, shape (n,). The sign is put into the lowest bit, so
        that -1 is as small as 1.

    Returns
    -------
    dict
        ``near``: n letters with the lowest six bits of each, and n with the six above them, which
        one after the other take a fifth less than digits do; ``far_at``: which numbers have more,
        each as the difference from the one before it; ``far``: what they have above twelve bits.
    """
    folded = np.where(numbers < 0, -2 * numbers - 1, 2 * numbers)
    far = np.flatnonzero(folded >> 12)
    rows = [_LETTERS[(folded >> 6 * row) & 63] for row in range(2)]
    return {
        "near": [row.tobytes().decode("ascii") for row in rows],
        "far_at": np.diff(far, prepend=0).tolist(),
        "far": (folded[far] >> 12).tolist(),
    }


def _parts(geometries: NDArray[np.object_]) -> tuple[NDArray[np.object_], NDArray[np.int64]]:
    """Return points, lines and rings, each with the index of the shape that it belongs to."""
    parts, owners = shapely.get_parts(geometries, return_index=True)
    while (shapely.get_type_id(parts) > shapely.GeometryType.POLYGON).any():
        parts, inner = shapely.get_parts(parts, return_index=True)
        owners = owners[inner]
    present = ~shapely.is_empty(parts)
    parts, owners = parts[present], owners[present]
    is_area = shapely.get_type_id(parts) == shapely.GeometryType.POLYGON
    rings, of_area = shapely.get_rings(parts[is_area], return_index=True)
    lines = np.concatenate([rings, parts[~is_area]])
    line_owners = np.concatenate([owners[is_area][of_area], owners[~is_area]])
    order = np.argsort(line_owners, kind="stable")
    return lines[order], line_owners[order]


def _part_kinds(lines: NDArray[np.object_]) -> NDArray[np.int64]:
    types = shapely.get_type_id(lines)
    kinds = np.full(len(lines), LINE)
    kinds[types == shapely.GeometryType.POINT] = POINT
    kinds[types == shapely.GeometryType.LINEARRING] = RING
    return kinds
