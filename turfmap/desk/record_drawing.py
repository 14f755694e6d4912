"""The ground of a record as a person drew it."""

from pathlib import Path

import shapely

from turfmap.desk.record_asked import Asked
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.foundations.shapes import is_area, is_present, repaired
from turfmap.store.foreign.reading import read_foreign


def drawing(file: Path) -> shapely.Geometry:
    """Read the ground that was drawn, mended and joined.

    Raises
    ------
    InputFaultsError
        If the file cannot be read, or holds no area.
    """
    foreign = read_foreign(file)
    faults = [fault for found in foreign.faults for fault in found]
    if faults:
        raise InputFaultsError(faults)
    shapes, _ = repaired(foreign.geometries)
    areas = shapes[is_area(shapes) & is_present(shapes)]
    if not areas.size:
        raise input_fault("it holds no area", "draw the ground that was treated", file=str(file))
    return shapely.union_all(areas)


def both_given(asked: Asked) -> list[Fault]:
    """Find a record whose ground is drawn and has an area beside."""
    if asked.drawn is None or asked.area_m2 is None:
        return []
    return [asked.fault("its ground is both drawn and given", "give one of the two")]
