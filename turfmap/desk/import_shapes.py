"""Foreign shapes made to fit a layer: the right type, whole, and reported where changed."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import shapely

from turfmap.desk.import_batch import Batch
from turfmap.foundations import plane
from turfmap.foundations.definitions import Layer
from turfmap.foundations.errors import Fault
from turfmap.foundations.shapes import (
    Repair,
    Shapes,
    is_area,
    is_present,
    repaired,
    shape_array,
)
from turfmap.store import geopackage
from turfmap.store.foreign.reading import Foreign

_WANTED = {"area": "an area", "point": "a point", "any": "a point, line or area"}


def fitted_shapes(batch: Batch, foreign: Foreign, layer: Layer, *, file: str) -> Batch:
    """Return the batch with shapes that the layer can hold; the others become faults."""
    drawn = plane.unwrapped(foreign.geometries)
    shapes, repairs = repaired(drawn)
    mended: list[dict[str, object]] = []
    already_faulty = [bool(found) for found in foreign.faults]
    for repair in repairs:
        record = batch.records[repair.index]
        if repair.lost:
            batch.faults[repair.index].append(
                Fault(file, record, f"its shape has no area ({repair.problem})", "draw it again")
            )
        elif not already_faulty[repair.index]:
            mended.append(_repair_row(repair, record, drawn, shapes))
    for index, problem, mend in _misfits(shapes, layer):
        if not batch.faults[index]:
            batch.faults[index].append(Fault(file, batch.records[index], problem, mend))
    if layer.name == "obstacle":
        _check_widths(batch, shapes, file=file)
    fitted = geopackage.as_multi_polygons(shapes) if layer.geometry == "area" else shapes
    return replace(batch, shapes=fitted, repairs=mended)


def _repair_row(repair: Repair, record: str, before: Shapes, after: Shapes) -> dict[str, object]:
    """Tell what was mended: its problem, parts and area before and after.

    The area of a broken shape is what its own corners add up to: a bow-tie's halves cancel, a
    ring wound twice counts double.
    """
    pair = shape_array([before[repair.index], after[repair.index]])
    origin = plane.origins(plane.bounds(pair[1:]))[[0, 0]]
    area_m2 = shapely.area(plane.flatten(pair, origin))
    return {
        "record": record,
        "problem": repair.problem,
        "parts_before": repair.parts_before,
        "parts_after": repair.parts_after,
        "area_before_m2": float(area_m2[0]),
        "area_after_m2": float(area_m2[1]),
    }


def _misfits(shapes: Shapes, layer: Layer) -> Iterator[tuple[int, str, str]]:
    wanted = _WANTED[layer.geometry or "any"]
    present = is_present(shapes)
    for index in np.flatnonzero(~present):
        yield int(index), "it has no shape", f"give it {wanted}"
    fits = present.copy()
    if layer.geometry == "area":
        fits = is_area(shapes)
    elif layer.geometry == "point":
        fits = shapely.get_type_id(shapes) == shapely.GeometryType.POINT
    for index in np.flatnonzero(present & ~fits):
        problem = f"its shape is a {shapes[index].geom_type}, and {layer.name} takes {wanted}"
        yield int(index), problem, f"give it {wanted}"


def _check_widths(batch: Batch, shapes: Shapes, *, file: str) -> None:
    """Say which obstacles drawn as lines or points lack the width that makes them ground."""
    for index in np.flatnonzero(is_present(shapes) & ~is_area(shapes)):
        if not batch.rows[index].get("width_m") and not batch.faults[index]:
            batch.faults[index].append(
                Fault(
                    file,
                    batch.records[index],
                    f"it is a {shapes[index].geom_type} without a width_m",
                    "give the width, or the same for all with --set width_m=3.5",
                )
            )
