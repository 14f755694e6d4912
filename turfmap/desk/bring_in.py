"""Bring a file into a place: all faults told at once, everything written or nothing."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from turfmap.desk.import_batch import Batch, Source
from turfmap.desk.import_columns import ANSWERED, Columns, answers_within, raw_rows, with_names
from turfmap.desk.import_products import BOOK, product_faults
from turfmap.desk.import_shapes import fitted_shapes
from turfmap.desk.import_ties import (
    name_faults,
    target_faults,
    tied_to_properties,
    unknown_answer_faults,
    without_what_is_there,
)
from turfmap.desk.own_rows import bring_in_rows
from turfmap.desk.reply_words import with_answers_as_written
from turfmap.desk.weather import TYPICAL
from turfmap.foundations.checks import as_text, checked_rows
from turfmap.foundations.definitions import Layer, Row, map_layer, map_layers, tables
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.store import geopackage
from turfmap.store.foreign.reading import Foreign, read_foreign
from turfmap.store.weather_file import WeatherFile, read_weather_file
from turfmap.store.weather_rows import FIRST_YEAR, LAST_YEAR


def bring_in(
    path: Path,
    source: Source,
    *,
    layer_name: str,
    property_name: str | None = None,
    keep_good: bool = False,
    progress: Callable[[int], None] | None = None,
) -> dict[str, Any]:
    """Import a file as one layer of a place.

    Parameters
    ----------
    path
        The place.
    source
        What to import.
    layer_name
        Which layer or table of the place it becomes. A reference table's name makes the rows your
        own, which beat the shipped ones; see `turfmap.desk.own_rows.bring_in_rows`.
    property_name
        For zones outside every property: the property they belong to, made if it is new.
    keep_good
        Whether to import the good records and leave the others out; otherwise one bad record
        keeps everything out.
    progress
        Told how many records have been read.

    Returns
    -------
    dict
        ``added``, ``left_out``, ``answers``, ``notes``, ``repairs`` (what was mended, with areas
        before and after) and the ``faults`` of what was left out.

    Raises
    ------
    InputFaultsError
        With every fault of the file; nothing has been written.
    """
    if layer_name in tables():
        return bring_in_rows(path, source, table_name=layer_name, keep_good=keep_good)
    layer = _layer(layer_name)
    batch = _read(path, source, layer, progress)
    # Looked up and written in one transaction: what another import adds meanwhile would be missed.
    with geopackage.editing(path) as connection:
        batch = _tied(path, batch, layer, property_name, file=str(source.file))
        good = [not found for found in batch.faults]
        faults = [fault for found in batch.faults for fault in found]
        if faults and not (keep_good and any(good)):
            raise InputFaultsError(faults)
        _write(connection, path, batch, layer, np.array(good, dtype=bool))
    return {
        "file": str(source.file),
        "layer": layer.name,
        "added": sum(good),
        "left_out": len(good) - sum(good),
        "answers": sum(good[index] for index, _ in batch.answers),
        "notes": batch.notes,
        "repairs": batch.repairs,
        "faults": [str(fault) for fault in faults],
    }


def _layer(name: str) -> Layer:
    if name not in map_layers():
        raise input_fault(
            f"there is no layer {name!r}",
            f"choose one of {', '.join(map_layers())}",
            record="--as",
        )
    return map_layer(name)


def _read(
    path: Path, source: Source, layer: Layer, progress: Callable[[int], None] | None
) -> Batch:
    """Read the file and check each record by itself."""
    file = str(source.file)
    foreign = _foreign(source, layer, progress)
    columns = _columns_left(source.columns, layer)
    raw, notes = raw_rows(foreign.rows, layer, columns, file=file)
    if not raw:
        raise input_fault("it holds no records", "choose another file", file=file)
    if layer.name == "client_answer":
        raw, foreign, unanswered = _only_answered(raw, foreign, file=file)
        raw = with_answers_as_written(raw)
        notes += [f"{unanswered} left unanswered: still not known."] if unanswered else []
    if "name" in layer.columns:
        taken = set(geopackage.read_layer(path, layer.name)["name"])
        raw, given = with_names(raw, layer, taken=taken)
        notes += [f"{given} without a name were given one."] if given else []
    answers = answers_within(raw, told_by=source.file.name) if layer.name in ANSWERED else []
    if layer.name == "client_answer":
        raw, foreign = _one_row_an_answer(raw, answers, foreign)
        answers = []
    records = _named(raw, foreign.records)
    rows, faults = checked_rows(raw, layer, file=file, records=records)
    faults = [one + two for one, two in zip(foreign.faults, faults, strict=True)]
    checked = _checked_answers(answers, records, faults, file=file)
    batch = Batch(rows, None, records, faults, checked, notes + foreign.notes)
    return batch if layer.geometry is None else fitted_shapes(batch, foreign, layer, file=file)


def _only_answered(
    raw: list[dict[str, Any]], foreign: Foreign, *, file: str
) -> tuple[list[dict[str, Any]], Foreign, int]:
    """Leave out the lines of a reply sheet whose question has no answer: that is not known.

    Raises
    ------
    InputFaultsError
        If no line has one.
    """
    keep = [
        index
        for index, row in enumerate(raw)
        if as_text(row.get("answer")) or not as_text(row.get("question"))
    ]
    if not keep:
        raise input_fault("no line of it is answered", "fill in the column answer", file=file)
    kept = replace(
        foreign,
        records=[foreign.records[index] for index in keep],
        faults=[foreign.faults[index] for index in keep],
    )
    return [raw[index] for index in keep], kept, len(raw) - len(keep)


def _one_row_an_answer(
    raw: list[dict[str, Any]], answers: list[tuple[int, dict[str, Any]]], foreign: Foreign
) -> tuple[list[dict[str, Any]], Foreign]:
    """Turn a reply sheet with one column a question into one row an answer."""
    if not answers:
        return raw, foreign
    owner = [index for index, _ in answers]
    return [{**raw[index], **answer} for index, answer in answers], replace(
        foreign,
        records=[foreign.records[index] for index in owner],
        faults=[foreign.faults[index] for index in owner],
    )


def _checked_answers(
    answers: list[tuple[int, dict[str, Any]]],
    records: Sequence[str],
    faults: list[list[Fault]],
    *,
    file: str,
) -> list[tuple[int, Row]]:
    """Check the answers that zones or properties carry; their faults join their record's."""
    rows, problems = checked_rows(
        # Whose they are is known only once the zones have been tied to their properties.
        [{**answer, "property": "to be tied"} for _, answer in answers],
        map_layer("client_answer"),
        file=file,
        records=[records[index] for index, _ in answers],
    )
    for (index, _), found in zip(answers, problems, strict=True):
        faults[index] += found
    return [(index, row) for (index, _), row in zip(answers, rows, strict=True)]


def _named(raw: Sequence[dict[str, Any]], records: Sequence[str]) -> list[str]:
    return [
        f"{record} ({str(row['name'])[:60]})" if row.get("name") else record
        for row, record in zip(raw, records, strict=True)
    ]


def _foreign(source: Source, layer: Layer, progress: Callable[[int], None] | None) -> Foreign:
    if layer.name != "weather":
        return read_foreign(source.file, crs=source.crs, layer=source.layer, progress=progress)
    found = read_weather_file(
        source.file, renamed=source.columns.renamed, year=_typical_year(source.columns)
    )
    named = source.columns.fixed.get("station")
    rows = [
        {**row, "station": _station(named or row.get("station") or source.file.stem, found)}
        for row in found.rows
    ]
    nothing = np.full(len(rows), None, dtype=object)
    records = [f"day {row['date']}" for row in rows]
    notes = list(found.notes)
    if found.places:
        notes.append(
            "Where its stations stand is in the file but not kept with the days: bring it in as a"
            " layer weather_station."
        )
    return Foreign(rows, nothing, records, [[] for _ in rows], notes)


def _station(name: str, found: WeatherFile) -> str:
    """Return a station's name; that of a typical year says so, as its days keep nothing else."""
    is_said = not found.is_typical or TYPICAL in name.casefold()
    return name if is_said else f"{name}, a {TYPICAL}"


def _typical_year(columns: Columns) -> int | None:
    """Return the calendar year that ``--set year=`` lays a typical year on."""
    text = columns.fixed.get("year")
    if text is None:
        return None
    if not (text.isdecimal() and FIRST_YEAR <= int(text) <= LAST_YEAR):
        raise input_fault(f"{text!r} is not a year", "write it as YYYY", record="--set year")
    return int(text)


def _columns_left(columns: Columns, layer: Layer) -> Columns:
    """Return what is still to be renamed and fixed: of weather, much is done as it is read."""
    if layer.name != "weather":
        return columns
    done = {"year", "station"}
    return Columns(fixed={name: text for name, text in columns.fixed.items() if name not in done})


def _tied(path: Path, batch: Batch, layer: Layer, property_name: str | None, *, file: str) -> Batch:
    """Find what each record belongs to, and what is wrong with that."""
    if layer.name == "zone":
        tied_to_properties(path, batch, property_name, file=file)
    elif "zone" in layer.columns:
        target_faults(path, batch, file=file)
    elif layer.name in BOOK:
        product_faults(path, batch, layer, file=file)
    answers = enumerate(batch.rows) if layer.name == "client_answer" else batch.answers
    unknown_answer_faults(batch, answers, file=file)
    if layer.key:
        name_faults(path, batch, layer, file=file)
    elif batch.shapes is not None or layer.name in {"visit", "client_answer"}:
        return without_what_is_there(path, batch, layer)
    return batch


def _write(connection: Any, path: Path, batch: Batch, layer: Layer, good: np.ndarray) -> None:
    rows = [row for row, keep in zip(batch.rows, good, strict=True) if keep]
    answers = [
        answer | _whose(batch.rows[index], layer) for index, answer in batch.answers if good[index]
    ]
    if layer.name == "zone":
        _make_properties(connection, rows, path)
    shapes = None if batch.shapes is None else batch.shapes[good]
    if layer.name == "property" and shapes is not None:
        # Zones may have named a property before its outline came.
        filled = geopackage.fill_rows(connection, layer, rows, shapes)
        rows = [row for row, done in zip(rows, filled, strict=True) if not done]
        shapes = shapes[~np.array(filled)]
    geopackage.append_rows(connection, layer, rows, shapes)
    if answers:
        geopackage.append_rows(connection, map_layer("client_answer"), answers, None)


def _whose(row: Row, layer: Layer) -> Row:
    """Tell whose an answer is that came with a zone or a property."""
    if layer.name == "zone":
        return {"property": row["property"], "zone": row["name"]}
    return {"property": row["name"], "zone": None}


def _make_properties(connection: Any, rows: Sequence[Row], path: Path) -> None:
    """Make the properties that zones name and that are not there yet, without an outline."""
    layer = map_layer("property")
    known = set(geopackage.read_rows(connection, layer, file=str(path))["name"])
    new = list(dict.fromkeys(row["property"] for row in rows if row["property"] not in known))
    if new:
        made: list[Row] = [{**dict.fromkeys(layer.columns), "name": name} for name in new]
        geopackage.append_rows(connection, layer, made, np.full(len(new), None, dtype=object))
