"""Vector files that others made, read safely: rows, shapes in longitude and latitude, faults."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from pyproj import CRS

from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.store.foreign import shape_checks
from turfmap.store.foreign.crs import LONLAT, MEND, called, convert, is_lonlat, named_crs
from turfmap.store.foreign.files import own_copy
from turfmap.store.foreign.process import Answer, worker_answer
from turfmap.store.foreign.records import Stated

# When most shapes are off the Earth the reference system is at fault, not the shapes.
MOST = 0.5


@dataclass(frozen=True)
class Foreign:
    """What a foreign file holds; all lists are of one length, one entry a record.

    Attributes
    ----------
    rows
        Values as found, by the file's own column names. Dates are ISO 8601 text.
    geometries
        2D shapes in EPSG:4326, longitude first; None where there is none, or it has a fault.
        Their validity has not been judged.
    records
        How to name each record to a person ("record 3", "line 7", "record 3 of layer tracks").
    faults
        What is wrong with each record.
    notes
        Plain sentences on what was done to the file as a whole.
    """

    rows: list[dict[str, Any]]
    geometries: NDArray[np.object_]
    records: list[str]
    faults: list[list[Fault]]
    notes: list[str]


def read_foreign(
    path: Path,
    *,
    crs: str | None = None,
    layer: str | None = None,
    progress: Callable[[int], None] | None = None,
) -> Foreign:
    """Read a vector file from anyone, in a process of its own, within bounds.

    Parameters
    ----------
    path
        GeoJSON, GeoPackage, shapefile (zipped or not), KML, KMZ, GPX, DXF, FlatGeobuf, GeoParquet
        or CSV, by the ending of its name; the content must agree with it.
    crs
        The coordinate reference system of the file ("EPSG:2240"), over whatever the file says.
    layer
        Which layer; needed if there are several (KML and GPX: all are read without it).
    progress
        Called with the number of records read so far.

    Returns
    -------
    Foreign
        Every record of the file or layer, those with faults too.

    Raises
    ------
    InputFaultsError
        If the file as a whole cannot be taken; each sentence says what to do.
    """
    try:
        given = None if crs is None else named_crs(crs)
        with own_copy(path, layer) as copy:
            answer = worker_answer(copy.reader, copy.path, layer=copy.layer, progress=progress)
        return _placed(answer, given, str(path))
    except InputFaultsError as error:
        raise InputFaultsError(replace(fault, file=str(path)) for fault in error.faults) from error


def _placed(answer: Answer, given: CRS | None, shown: str) -> Foreign:
    """Return the answer with its shapes looked through, and put on the Earth."""
    found = _Faults(answer, shown)
    shapes = np.array(answer.shapes, dtype=object)
    shapes = found.taken_out(
        shapes, shape_checks.not_finite(shapes), "a coordinate is not a number", "draw it again"
    )
    shapes, mixed = shape_checks.of_one_kind(shapes)
    shapes = found.taken_out(
        shapes, mixed, "its shape mixes areas, lines or points", "split it into records of one kind"
    )
    notes = list(answer.notes)
    if any(shape is not None for shape in shapes):
        shapes = _on_the_earth(shapes, answer, given, notes, found)
    if answer.may_close:
        shapes, closed = shape_checks.closed_as_areas(shapes)
        if closed:
            notes.append(f"Lines taken as areas, for they end where they began: {closed}.")
    return Foreign(answer.rows, shapes, answer.records, found.of_each, notes)


class _Faults:
    """The faults of each record, gathered."""

    def __init__(self, answer: Answer, shown: str) -> None:
        self._records, self._shown = answer.records, shown
        self.of_each: list[list[Fault]] = [
            [Fault(shown, record, problem, mend)] if problem else []
            for record, (problem, mend) in zip(answer.records, answer.problems, strict=True)
        ]

    def taken_out(
        self, shapes: shape_checks.Shapes, flagged: shape_checks.Flags, problem: str, mend: str
    ) -> shape_checks.Shapes:
        """Return the shapes without the flagged ones, each of which becomes a fault."""
        for number in np.flatnonzero(flagged):
            fault = Fault(self._shown, self._records[number], problem, mend)
            self.of_each[number].append(fault)
        kept = shapes.copy()
        kept[flagged] = None
        return kept


def _on_the_earth(
    shapes: shape_checks.Shapes,
    answer: Answer,
    given: CRS | None,
    notes: list[str],
    found: _Faults,
) -> shape_checks.Shapes:
    source = _source(shapes, answer, given, notes)
    placed, note = convert(shapes, source)
    if note is not None:
        notes.append(note)
    outside = shape_checks.off_the_earth(placed)
    if outside.sum() > MOST * np.sum(~shapely.is_missing(placed)):
        raise input_fault(
            "most of its coordinates are not longitude and latitude"
            if is_lonlat(source)
            else f"most of its coordinates make no sense in {called(source)}",
            f"if they are of another coordinate reference system, {MEND}",
        )
    return found.taken_out(
        placed, outside, "a coordinate lies off the Earth (beyond ±180, ±90 degrees)", "correct it"
    )


def _source(
    shapes: shape_checks.Shapes, answer: Answer, given: CRS | None, notes: list[str]
) -> CRS:
    """Return the system of the coordinates, by the user, the file, its format or its numbers."""
    if given is not None:
        return _overriding(answer, given, notes)
    if answer.stated in {Stated.BY_FILE, Stated.BY_STANDARD}:
        return named_crs(answer.crs)
    degrees = not shape_checks.off_the_earth(shapes).any()
    if answer.stated == Stated.BY_NUMBERS and degrees:
        notes.append(
            "The file names no coordinate reference system; its numbers were taken as longitude"
            " and latitude."
        )
        return LONLAT
    raise input_fault("it has no coordinate reference system", MEND)


def _overriding(answer: Answer, given: CRS, notes: list[str]) -> CRS:
    """Return the user's system, with a warning if the file names another."""
    try:
        stated = named_crs(answer.crs)
    except InputFaultsError:  # none, or none that we know: why the user had to give one
        return given
    same = is_lonlat(stated) and is_lonlat(given)
    if answer.stated != Stated.BY_NUMBERS and not (same or stated == given):
        notes.append(
            f"Warning: {called(given)} was used as you asked, although the file means"
            f" {called(stated)}."
        )
    return given
