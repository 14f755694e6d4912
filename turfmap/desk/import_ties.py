"""What imported records belong to: zones to properties, answers and visits to both."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from itertools import count
from pathlib import Path
from typing import Any, NamedTuple

import geopandas as gpd
import numpy as np
import shapely

from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.import_batch import Batch
from turfmap.desk.import_columns import is_made_up
from turfmap.desk.place import LON_LAT
from turfmap.foundations.checks import as_text
from turfmap.foundations.definitions import Layer, Row, table
from turfmap.foundations.errors import Fault
from turfmap.foundations.shapes import Shapes, is_area, is_present
from turfmap.ground.belonging import lies_in
from turfmap.store import geopackage

# The same answer in another reply sheet is still the same answer.
TELLS_NOTHING = frozenset({"told_by"})


def tied_to_properties(path: Path, batch: Batch, property_name: str | None, *, file: str) -> None:
    """Give every zone its property: named in its record, or where it lies, or the one given."""
    properties = geopackage.read_layer(path, "property").to_crs(LON_LAT)
    names = properties["name"].tolist()
    shapes = batch.shapes if batch.shapes is not None else np.empty(0, dtype=object)
    areas = shapes.copy()
    areas[~is_area(shapes)] = None
    owner = lies_in(areas, shapes_of(properties))
    for index, row in enumerate(batch.rows):
        if row["property"]:
            continue
        if owner[index] >= 0:
            row["property"] = names[owner[index]]
        elif property_name is not None:
            row["property"] = property_name
        elif not batch.faults[index]:
            batch.faults[index].append(
                Fault(
                    file,
                    f"{batch.records[index]} ({row['name']})",
                    "it lies in no property of the place",
                    "import the properties first, or name the one it belongs to with --property",
                )
            )


def name_faults(path: Path, batch: Batch, layer: Layer, *, file: str) -> None:
    """Find records that are there already, and number names that the file uses twice."""
    there = geopackage.read_layer(path, layer.name)
    if layer.name == "property":
        there = there[is_present(shapes_of(there))]  # the others still wait for their outline
    on_the_map = set(there[list(layer.key)].itertuples(index=False, name=None))
    seen: set[tuple[object, ...]] = set()
    for index, row in enumerate(batch.rows):
        if batch.faults[index]:
            continue
        key = _key(row, layer)
        if key in on_the_map or (key in seen and layer.key[-1] != "name"):
            problem = f"there is already a {layer.name} {' / '.join(map(str, key))}"
            batch.faults[index].append(
                Fault(file, batch.records[index], problem, "leave it out, or rename it")
            )
        elif key in seen:
            _number(row, layer, seen | on_the_map)
            batch.notes.append(
                f"{batch.records[index]}: named {row['name']}, as {key[-1]} is taken."
            )
        seen.add(_key(row, layer))
    _outline_faults(batch, there, layer, file=file)


def _outline_faults(batch: Batch, there: gpd.GeoDataFrame, layer: Layer, *, file: str) -> None:
    """Find unnamed records whose outline is there already: a number is no name to know them by."""
    if batch.shapes is None or "name" not in layer.columns:
        return
    known = dict(zip(_outlines(shapes_of(there)), there["name"], strict=True))
    for index, (row, outline) in enumerate(zip(batch.rows, _outlines(batch.shapes), strict=True)):
        if batch.faults[index]:
            continue
        if outline is not None and outline in known and is_made_up(row["name"], layer):
            problem = f"it is there already: {known[outline]} has the same outline"
            batch.faults[index].append(
                Fault(file, batch.records[index], problem, "leave it out, or give it a name")
            )
        known.setdefault(outline, row["name"])


def _outlines(shapes: Shapes | None) -> list[bytes | None]:
    """Return what makes outlines the same, wherever their rings begin and whichever way they go."""
    if shapes is None:
        return []
    found: list[bytes | None] = shapely.to_wkb(shapely.normalize(shapes)).tolist()
    return found


def _key(row: Row, layer: Layer) -> tuple[object, ...]:
    values = (row[name] for name in layer.key)
    return tuple(value.isoformat() if isinstance(value, date) else value for value in values)


def _number(row: Row, layer: Layer, taken: set[tuple[object, ...]]) -> None:
    plain = row["name"]
    numbers = count(2)
    while _key(row, layer) in taken:
        row["name"] = f"{plain} {next(numbers)}"


def unknown_answer_faults(batch: Batch, answers: Iterable[tuple[int, Row]], *, file: str) -> None:
    """Find answers that their question does not allow."""
    allowed = {
        name: row["answers"].split(";") for name, row in table("question").by("question").items()
    }
    for index, answer in answers:
        choices = allowed.get(answer["question"] or "", [])
        if choices and answer["answer"] and answer["answer"] not in choices:
            batch.faults[index].append(
                Fault(
                    file,
                    batch.records[index],
                    f"{answer['answer']!r} is no answer to {answer['question']}",
                    f"give one of {', '.join(choices)}",
                )
            )


def target_faults(path: Path, batch: Batch, *, file: str) -> None:
    """Find answers and visits for properties and zones that are not on the map."""
    zones = geopackage.read_layer(path, "zone")
    known_zones = set(zip(zones["property"], zones["name"], strict=True))
    known = set(geopackage.read_layer(path, "property")["name"]) | set(zones["property"])
    for index, row in enumerate(batch.rows):
        _without_apostrophes(row, known, known_zones)
        problem = _missing_target(row, known, known_zones)
        if problem and not batch.faults[index]:
            batch.faults[index].append(
                Fault(file, batch.records[index], problem, "correct the name, or import it first")
            )


def _without_apostrophes(row: Row, known: set[str], known_zones: set[tuple[str, str]]) -> None:
    """Take off the apostrophe that keeps a spreadsheet from running a name as a formula."""
    of, zone = row["property"] or "", row["zone"] or ""
    if of not in known and of.startswith("'") and of[1:] in known:
        row["property"] = of[1:]
    if (row["property"], zone) not in known_zones and zone.startswith("'"):
        plain = (row["property"], zone[1:])
        row["zone"] = zone[1:] if plain in known_zones else zone


def _missing_target(row: Row, known: set[str], known_zones: set[tuple[str, str]]) -> str:
    if row["property"] not in known:
        return f"there is no property {row['property']!r}"
    if row["zone"] and (row["property"], row["zone"]) not in known_zones:
        return f"property {row['property']!r} has no zone {row['zone']!r}"
    return ""


def without_what_is_there(path: Path, batch: Batch, layer: Layer) -> Batch:
    """Leave out records that are there already or stand earlier in the file.

    Shapes are the same with the same outline and name; where turfmap made up one of the names,
    with the same outline and kind. Rows of a table are if all their columns are, but for who told
    it. Only for layers without a key, whose records carry no answers.
    """
    there = geopackage.read_layer(path, layer.name)
    known = {
        mark
        for marks in _told(there.to_dict("records"), shapes_of(there), layer)
        for mark in marks.of_one_there
    }
    keep = []
    for index, marks in enumerate(_told(batch.rows, batch.shapes, layer)):
        if batch.faults[index]:
            keep.append(index)  # to be told of
        elif not known & marks.of_one_coming:
            keep.append(index)
            known |= marks.of_one_there
    if len(keep) == len(batch.rows):
        return batch
    what = "values" if layer.geometry is None else "name (or kind) and shape"
    note = f"{len(batch.rows) - len(keep):,} are there already, with the same {what}: left out."
    return replace(
        batch,
        rows=[batch.rows[index] for index in keep],
        shapes=None if batch.shapes is None else batch.shapes[keep],
        records=[batch.records[index] for index in keep],
        faults=[batch.faults[index] for index in keep],
        notes=[*batch.notes, note],
    )


Mark = tuple[object, ...]


class _Marks(NamedTuple):
    """What a record of a layer without a key is known again by.

    Attributes
    ----------
    of_one_there
        Left by a record that is there.
    of_one_coming
        Any of them on one that is there makes the record that is coming the same.
    """

    of_one_there: set[Mark]
    of_one_coming: set[Mark]


def _told(
    rows: Sequence[Mapping[Any, Any]], shapes: Shapes | None, layer: Layer
) -> Iterator[_Marks]:
    if layer.geometry is None:
        names = [name for name in layer.columns if name not in TELLS_NOTHING]
        for row in rows:
            mark: Mark = tuple(_stored(row[name]) for name in names)
            yield _Marks({mark}, {mark})
        return
    for row, outline in zip(rows, _outlines(shapes), strict=True):
        named: Mark = ("name", row["name"], outline)
        of_kind: Mark = ("kind", row.get("kind"), outline)
        unnamed: Mark = ("unnamed", row.get("kind"), outline)
        if is_made_up(row["name"], layer):
            yield _Marks({named, of_kind, unnamed}, {named, of_kind})
        else:
            yield _Marks({named, of_kind}, {named, unnamed})


def _stored(value: object) -> object:
    """Return a value as it comes back from the file; nothing is None."""
    if not as_text(value):
        return None
    return value.isoformat() if isinstance(value, date) else value
