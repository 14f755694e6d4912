"""A small drawing of a property's zones for a letter: numbered, so that no text is in it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from turfmap.foundations import plane
from turfmap.foundations.shapes import Shapes, is_area, is_present, shape_array

WIDTH, HEIGHT = 720.0, 480.0
MARGIN = 12.0
# Zones by kind; plain enough to print in grey.
_FILLS = {
    "turf": "#d5e3c3",
    "bed": "#e6d5b8",
    "water": "#c4d9e6",
    "hard": "#dcdcdc",
    "woods": "#bccab0",
}
_OTHER = "#eeeeee"
# The smallest step that a line of the drawing shows.
_STEP = 0.4


@dataclass(frozen=True)
class DrawnZone:
    """A zone of the drawing.

    Attributes
    ----------
    number
        What stands on it; 0 for none.
    kind
        Of the table zone_kind.
    geometry
        In EPSG:4326, or None.
    """

    number: int
    kind: str
    geometry: shapely.Geometry | None


def letter_map(zones: Sequence[DrawnZone]) -> str | None:
    """Return the drawing as SVG; None if no zone has a shape."""
    shapes = shape_array([zone.geometry for zone in zones])
    there = np.flatnonzero(is_present(shapes) & is_area(shapes))
    if not there.size:
        return None
    placed, width, height = _placed(shapes[there])
    order = np.argsort(-shapely.area(placed), kind="stable")
    paths, numbers = [], []
    for row in order:
        zone, shape = zones[there[row]], placed[row]
        fill = _FILLS.get(zone.kind, _OTHER)
        paths.append(f'<path d="{_path(shape)}" fill="{fill}" stroke="#555" stroke-width="1"/>')
        if zone.number:
            x, y = shapely.get_coordinates(shapely.point_on_surface(shape))[0]
            numbers.append(f'<text x="{x:.1f}" y="{y + 5:.1f}">{int(zone.number)}</text>')
    halo = f'<g stroke="#fff" stroke-width="4">{"".join(numbers)}</g>'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {height:.0f}"'
        f' width="{width:.0f}" height="{height:.0f}">{"".join(paths)}'
        '<g font-family="sans-serif" font-size="15" font-weight="bold" text-anchor="middle"'
        f' fill="#000">{halo}{"".join(numbers)}</g></svg>\n'
    )


def _placed(shapes: Shapes) -> tuple[Shapes, float, float]:
    """Return shapes on the paper, north up, and how wide and high it is."""
    one = plane.origins(plane.bounds(shape_array([shapely.union_all(shapes)])))
    flat = plane.flatten(shapes, np.repeat(one, len(shapes), axis=0))
    west, south, east, north = shapely.total_bounds(flat)
    scale = min(
        (WIDTH - 2 * MARGIN) / max(east - west, 1e-6),
        (HEIGHT - 2 * MARGIN) / max(north - south, 1e-6),
    )

    def on_paper(points: np.ndarray) -> np.ndarray:
        x = MARGIN + (points[:, 0] - west) * scale
        y = MARGIN + (north - points[:, 1]) * scale
        return np.column_stack((x, y))

    found = shapely.simplify(shapely.transform(flat, on_paper), _STEP)
    size = (east - west) * scale + 2 * MARGIN, (north - south) * scale + 2 * MARGIN
    return np.asarray(found, dtype=object), *size


def _path(shape: shapely.Geometry) -> str:
    parts = []
    for polygon in shapely.get_parts(shape):
        for ring in (polygon.exterior, *polygon.interiors):
            points = " ".join(f"{x:.1f},{y:.1f}" for x, y in shapely.get_coordinates(ring)[:-1])
            parts.append(f"M{points}Z")
    return "".join(parts)
