"""What imported records belong to: zones to properties, answers and visits to both."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from itertools import count
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from turfmap.desk.import_batch import Batch
from turfmap.desk.place import LON_LAT, shapes_of
from turfmap.foundations.checks import as_text
from turfmap.foundations.definitions import Layer, Row, table
from turfmap.foundations.errors import Fault
from turfmap.foundations.shapes import Shapes, is_area, is_present
from turfmap.ground.belonging import lies_in
from turfmap.store import geopackage


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
        problem = _missing_target(row, known, known_zones)
        if problem and not batch.faults[index]:
            batch.faults[index].append(
                Fault(file, batch.records[index], problem, "correct the name, or import it first")
            )


def _missing_target(row: Row, known: set[str], known_zones: set[tuple[str, str]]) -> str:
    if row["property"] not in known:
        return f"there is no property {row['property']!r}"
    if row["zone"] and (row["property"], row["zone"]) not in known_zones:
        return f"property {row['property']!r} has no zone {row['zone']!r}"
    return ""


def without_what_is_there(path: Path, batch: Batch, layer: Layer) -> Batch:
    """Leave out records that are there already or stand earlier in the file.

    Shapes are the same with the same name and the same outline, rows of a table if all their
    columns are. Only for layers without a key, whose records carry no answers.
    """
    there = geopackage.read_layer(path, layer.name)
    known = set(_told(there.to_dict("records"), shapes_of(there), layer))
    told = _told(batch.rows, batch.shapes, layer)
    keep = []
    for index, record in enumerate(told):
        if batch.faults[index]:
            keep.append(index)  # to be told of
        elif record not in known:
            keep.append(index)
            known.add(record)
    if len(keep) == len(told):
        return batch
    what = "values" if layer.geometry is None else "name and shape"
    note = f"{len(told) - len(keep):,} are there already, with the same {what}: left out."
    return replace(
        batch,
        rows=[batch.rows[index] for index in keep],
        shapes=None if batch.shapes is None else batch.shapes[keep],
        records=[batch.records[index] for index in keep],
        faults=[batch.faults[index] for index in keep],
        notes=[*batch.notes, note],
    )


def _told(
    rows: Sequence[Mapping[Any, Any]], shapes: Shapes | None, layer: Layer
) -> list[tuple[object, ...]]:
    """Return what makes each record of a layer without a key the same as another."""
    if layer.geometry is not None:
        outlines = shapely.to_wkb(np.empty(0, dtype=object) if shapes is None else shapes)
        return [(row["name"], outline) for row, outline in zip(rows, outlines, strict=True)]
    return [tuple(_stored(row[name]) for name in layer.columns) for row in rows]


def _stored(value: object) -> object:
    """Return a value as it comes back from the file; nothing is None."""
    if not as_text(value):
        return None
    return value.isoformat() if isinstance(value, date) else value
