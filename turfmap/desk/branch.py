"""Split a business's file into branch files: properties, with what belongs to them or lies near."""

import sqlite3
from collections.abc import Collection, Iterator
from itertools import chain, count
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import shapely

from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.near_ground import grown, reach_m
from turfmap.desk.own_rows import own_table
from turfmap.desk.place import BEYOND_REACH_M, LON_LAT, READ, with_property
from turfmap.foundations import plane
from turfmap.foundations.definitions import Layer, Table, map_layer, table
from turfmap.foundations.errors import input_fault
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes, is_present, repaired
from turfmap.ground.near import Indices, as_diagonals, near_pairs
from turfmap.store import geopackage
from turfmap.store.branch_file import write_branch
from turfmap.store.kept_rows import KeptRow, columns_of, is_reference, kept_layers, kept_rows

ENDING = ".gpkg"
LONGEST_NAME = 60
NEAR = ("water", "sensitive_site", "obstacle", "canopy", "gate")
Rows = dict[str, list[KeptRow]]


def split_off(path: Path, *, out: Path, name: str, properties: Collection[str]) -> dict[str, Any]:
    """Write some properties of a place as a branch: a whole place of its own.

    Water, sensitive sites, obstacles, canopies and gates go along as far round as anything in the
    place can take ground, zones of neighbours where they act on those chosen; answers and visits
    of the properties; products, weather and own rows of tables whole, but rows that name another
    property. The log of changes stays.

    Parameters
    ----------
    path
        The place; it is only read.
    out
        The new file.
    name
        What the branch is called.
    properties
        The properties that go along; at least one.

    Returns
    -------
    dict
        ``out, branch, properties``, and ``rows``: how many of each layer.

    Raises
    ------
    InputFaultsError
        If a property is not there, or the file cannot be written.
    """
    _check_ending(out)
    rules = own_table(path, "setback")
    with geopackage.reading(path) as connection:
        return _split(connection, path, rules, (out, name, list(dict.fromkeys(properties))))


def split_by(path: Path, *, folder: Path, column: str) -> list[dict[str, Any]]:
    """Write one branch for each value of a column of the properties, into a folder.

    Raises
    ------
    InputFaultsError
        If there is no such column, a property has no value in it, or a file cannot be written.
    """
    if column not in map_layer("property").columns:
        raise input_fault(
            f"a property has no column {column!r}",
            f"choose one of {', '.join(map_layer('property').columns)}",
            record="--branch-by",
        )
    rules = own_table(path, "setback")
    with geopackage.reading(path) as connection:
        frame = geopackage.read_rows(connection, map_layer("property"), file=str(path))
        bare = frame["name"][frame[column].isna()]
        if len(bare):
            raise input_fault(
                f"the property {bare.iloc[0]} has no {column}, and {len(bare) - 1} others",
                "give every property one, or split with --branch NAME --property NAME",
                file=str(path),
            )
        lots = {str(value): list(mine["name"]) for value, mine in frame.groupby(column)}
        files = _file_names(lots)
        _check_free(folder, files.values())
        return [
            _split(connection, path, rules, (folder / files[value], value, names))
            for value, names in lots.items()
        ]


def _check_ending(out: Path) -> None:
    if out.suffix.lower() != ENDING:
        raise input_fault(
            "a branch is a GeoPackage", f"give it a name that ends in {ENDING}", file=str(out)
        )


def _file_names(lots: Collection[str]) -> dict[str, str]:
    """Return a plain file name for each value; a number is put behind those that are alike."""
    names: dict[str, str] = {}
    taken: set[str] = set()
    for value in lots:
        plain = "".join(c if c.isalnum() else "-" for c in value.casefold())[:LONGEST_NAME]
        stem = "-".join(part for part in plain.split("-") if part) or "branch"
        numbered = (f"{stem}-{number}" for number in count(2))
        alone = chain([stem], numbered)
        names[value] = next(f"{one}{ENDING}" for one in alone if f"{one}{ENDING}" not in taken)
        taken.add(names[value])
    return names


def _check_free(folder: Path, names: Collection[str]) -> None:
    """Refuse before anything is written, so that no half of the branches is left."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise input_fault(
            f"it cannot be made ({error.strerror})", "choose another folder", file=str(folder)
        ) from None
    for name in names:
        if (folder / name).exists():
            raise input_fault(
                "there is a file of that name already",
                "choose another folder, or move it away",
                file=str(folder / name),
            )


def _split(
    connection: sqlite3.Connection,
    path: Path,
    rules: Table,
    wanted: tuple[Path, str, list[str]],
) -> dict[str, Any]:
    out, name, properties = wanted
    rows = _rows_along(connection, path, rules, properties)
    write_branch(connection, rows, out, name=name)
    counts = {layer: len(mine) for layer, mine in rows.items() if mine}
    return {"out": str(out), "branch": name, "properties": properties, "rows": counts}


def _rows_along(
    connection: sqlite3.Connection, path: Path, rules: Table, properties: list[str]
) -> Rows:
    frames = {
        layer: geopackage.read_rows(connection, map_layer(layer), file=str(path))
        for layer in {*READ, *NEAR}
    }
    frames = {
        name: frame if frame.crs == LON_LAT else frame.to_crs(LON_LAT)
        for name, frame in frames.items()
    }
    zones = with_property(frames["zone"], frames["property"])
    known = {*frames["property"]["name"], *zones["property"]}
    unknown = [name for name in properties if name not in known]
    if unknown or not properties:
        few = ", ".join(sorted(map(str, known))[:10]) or "none yet"
        raise input_fault(
            f"there is no property {unknown[0]!r}" if unknown else "no property is named",
            f"choose those that are there ({few})",
            file=str(path),
        )
    owners = frames["property"]["name"].isin(properties).to_numpy()
    mine = zones["property"].isin(properties).to_numpy()
    ground = np.concatenate([shapes_of(frames["property"])[owners], shapes_of(zones)[mine]])
    far_m = max(reach_m(connection, [], rules), BEYOND_REACH_M)
    around = grown(plane.bounds(ground), far_m)
    fids = {name: frames[name]["fid"].iloc[_in_reach(frames[name], around)] for name in NEAR}
    fids["property"] = frames["property"]["fid"][owners]
    fids["zone"] = zones["fid"].iloc[_with_those_that_act(zones, mine, around)]
    return dict(_of_each_layer(connection, fids, set(properties)))


def _of_each_layer(
    connection: sqlite3.Connection, fids: dict[str, "pd.Series[int]"], properties: set[str]
) -> Iterator[tuple[str, list[KeptRow]]]:
    for layer in kept_layers(connection):
        rows = kept_rows(connection, layer)
        if layer.name in fids:
            chosen = set(fids[layer.name])
            rows = [row for row in rows if row.fid in chosen]
        elif "property" in layer.columns:
            rows = _of_properties(rows, layer, properties)
        yield layer.name, rows


def _of_properties(rows: list[KeptRow], layer: Layer, properties: set[str]) -> list[KeptRow]:
    """Keep rows that name one of the properties; of a reference table, also those of none."""
    place = columns_of(layer).index("property")
    for_all = {None, ""} if is_reference(layer) else set()
    return [row for row in rows if row.values[place] in properties | for_all]


def _in_reach(frame: pd.DataFrame, around: Floats) -> Indices:
    """Return which rows lie in any of some boxes, or nobody knows where."""
    shapes: Shapes = shapes_of(frame)
    tree = shapely.STRtree(as_diagonals(plane.bounds(shapes)))
    nowhere = np.flatnonzero(~is_present(shapes))
    return np.union1d(near_pairs(around, tree)[1], nowhere)


def _with_those_that_act(zones: pd.DataFrame, mine: np.ndarray, around: Floats) -> Indices:
    """Return the zones that are chosen, and neighbours that share their ground or act on it."""
    stands_for = {row["kind"] for row in table("zone_kind").rows if row["stands_for"]}
    acting = np.flatnonzero(zones["kind"].isin(stands_for))
    acting = np.intersect1d(acting, _in_reach(zones, around))
    shapes, _ = repaired(shapes_of(zones))
    chosen = np.flatnonzero(mine)
    met = shapely.STRtree(shapes).query(shapes[chosen], predicate="intersects")[1]
    return np.unique(np.concatenate([chosen, acting, met]))
