"""Shapes as columns of whole numbers: a fifth of the size of named formats, every corner kept."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

# One step is 1e-7 degree, 11 mm on the ground: finer than any edge is known.
STEPS_PER_DEGREE = 10_000_000

POINT, LINE, RING = 0, 1, 2


def packed_shapes(geometries: Sequence[BaseGeometry]) -> dict[str, Any]:
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
        turn, each as the difference from the corner before it [1e-7 degree]. A ring's closing
        corner is left out. Rings of one shape are filled by the even-odd rule, so holes need no
        mark.
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
        "steps": steps.ravel().tolist(),
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
