"""Edits of drawn features: judged, compared with what stands, and written all or not at all."""

import json
import re
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import shapely

from turfmap.desk import features, reference_systems
from turfmap.desk.drawn_features import feature_of, invalid_faults, shape_of
from turfmap.desk.edit_faults import FaultRow, RefusedError, plain_fault, refused
from turfmap.desk.judging_edits import StoredGround, faults_of
from turfmap.desk.reference_systems import CRS84
from turfmap.desk.renames import carry_names
from turfmap.foundations.checks import checked_rows
from turfmap.foundations.definitions import Layer, Row
from turfmap.store import change_log, feature_rows, geopackage
from turfmap.store.feature_rows import FeatureRows, kept_in

Edit = Mapping[str, Any]

OPERATIONS = ("create", "replace", "merge", "delete")
ANY_ETAG = "*"
_IDENTITY = re.compile(r"[A-Za-z0-9_-]{1,64}")
# Layers whose features may be there before anybody has drawn them.
_MAY_LACK_SHAPE = {"property"}


class EditClashError(Exception):
    """Raised when a row is not as the editor saw it; carries it as it stands, None if gone."""

    def __init__(self, edit: int, current: features.Told | None) -> None:
        self.edit, self.current = edit, current
        super().__init__("somebody else changed it")


class NotThereError(Exception):
    """Raised when there is no feature of that identity."""


class TakenError(Exception):
    """Raised when a new feature brings an identity that another one has."""


@dataclass(frozen=True)
class _Ready:
    """An edit that has been checked by itself."""

    layer: Layer
    operation: str
    identity: str | None
    stands: FeatureRows | None
    values: Row
    shape: shapely.Geometry | None
    """In EPSG:4326."""

    @property
    def fid(self) -> int:
        """Return the file's number of the row that stands."""
        assert self.stands is not None  # noqa: S101 - only asked of rows that stand
        return self.stands.fids[0]


def apply_edits(
    path: Path, edits: Sequence[Edit], *, who: str, keep_overlaps: bool = False, crs: str = CRS84
) -> dict[str, Any]:
    """Write edits in one transaction, or none of them.

    Parameters
    ----------
    path
        The place.
    edits
        Each with ``layer``, ``op`` (create, replace, merge: RFC 7396, delete), ``id``, ``feature``
        and ``etag``: the tag or tags of the row as the editor saw it, "*" for any that is there,
        None for "whatever stands" (the log keeps it).
    who
        Which door they came through, for the log.
    keep_overlaps
        Whether zones may come to lie over one another.
    crs
        The system that the shapes are in.

    Returns
    -------
    dict
        ``results``: ``id`` and ``etag`` (None: deleted) of each, and the number of the ``change``
        (None if nothing came to be different). It has been committed.

    Raises
    ------
    RefusedError
        With every fault; each names its ``edit``.
    EditClashError, NotThereError, TakenError
        As each says.
    InputFaultsError
        If the file is in the way.
    """
    with geopackage.editing(path, who=who) as connection:
        entry = change_log.last_entry(connection)
        for name in {str(edit.get("layer")) for edit in edits} & features.drawn_layers().keys():
            kept = kept_in(connection, features.drawn_layers()[name], str(path))
            reference_systems.check_offered(crs, kept, record="Content-Crs")
        ready = _all_ready(connection, edits, file=str(path), crs=crs)
        _judge(connection, ready, path, keep_overlaps=keep_overlaps)
        identities = [_write(connection, one) for one in ready]
        carry_names(connection, _renamed(ready))
        results = [
            {"id": identity, "etag": _etag(connection, one.layer, identity, path)}
            for one, identity in zip(ready, identities, strict=True)
        ]
        change = change_log.number_since(connection, entry, who=who)
    return {"results": results, "change": change}


def _all_ready(
    connection: sqlite3.Connection, edits: Sequence[Edit], *, file: str, crs: str
) -> list[_Ready]:
    faults: list[FaultRow] = []
    ready = []
    for index, edit in enumerate(edits):
        with _collecting(faults, index):
            ready.append(_ready(connection, index, edit, file=file, crs=crs))
    for index, column in _taken_keys(connection, ready) if not faults else ():
        named = " / ".join(str(ready[index].values[name]) for name in ready[index].layer.key)
        problem = f"there is already a {ready[index].layer.name} {named}"
        fault = plain_fault(problem, "give it another name", "definition", column=column)
        faults.append(fault | {"edit": index})
    if faults:
        raise RefusedError(faults)
    return ready


@contextmanager
def _collecting(faults: list[FaultRow], index: int) -> Iterator[None]:
    try:
        yield
    except RefusedError as error:
        faults += [fault | {"edit": index} for fault in error.faults]


def _ready(
    connection: sqlite3.Connection, index: int, edit: Edit, *, file: str, crs: str
) -> _Ready:
    layer = features.drawn_layers().get(str(edit.get("layer")))
    operation, identity = edit.get("op"), edit.get("id")
    if layer is None or operation not in OPERATIONS:
        raise refused("it names no layer or no operation", "send it again", "definition")
    if identity is not None and not (isinstance(identity, str) and _IDENTITY.fullmatch(identity)):
        raise refused("its id is not of letters, digits, - and _", "send another", "definition")
    stands = feature_rows.row_of(connection, layer, identity, file=file) if identity else None
    if operation == "create":
        if stands:
            raise TakenError(identity)
        one = _Ready(layer, operation, identity, None, {}, None)
    else:
        _compare(index, edit.get("etag"), stands, identity)
        one = _Ready(layer, operation, identity, stands, {}, None)
    return one if operation == "delete" else _filled(one, edit.get("feature"), crs)


def _compare(index: int, etag: object, stands: FeatureRows | None, identity: object) -> None:
    """Refuse an edit of a row that is not as the editor saw it."""
    if not stands and etag is None:
        raise NotThereError(identity)
    current = features.told(stands)[0] if stands else None
    if etag is None:
        return
    seen = {str(one).strip('"') for one in (etag if isinstance(etag, list) else [etag])}
    if current is None or not seen & {current.etag.strip('"'), ANY_ETAG}:
        raise EditClashError(index, current)


def _filled(one: _Ready, feature: object, crs: str) -> _Ready:
    """Read what an edit brings: values and shape, both checked."""
    if not isinstance(feature, Mapping) or feature.get("type", "Feature") != "Feature":
        raise refused("it is no GeoJSON feature", "send one", "invalid")
    given, stood = feature.get("properties"), one.stands.values[0] if one.stands else {}
    if given is not None and not isinstance(given, Mapping):
        raise refused("its properties are no object", "send one", "definition")
    if one.operation == "merge":
        given = {**stood, **(given or {})}
    faults = _value_faults(one.layer, given or {})
    values = _values(one.layer, given or {})
    shape: shapely.Geometry | None = None
    try:
        shape = _shape(one, feature, crs)
    except RefusedError as error:
        faults += error.faults
    if faults:
        raise RefusedError(faults)
    return replace(one, values=values, shape=shape)


def _value_faults(layer: Layer, given: Mapping[str, Any]) -> list[FaultRow]:
    """Find what is wrong with values, one column at a time so that each fault names its own."""
    faults = [
        plain_fault(
            f"there is no column {str(name)[:60]!r}",
            f"choose one of {', '.join(layer.columns)}",
            "definition",
            column=str(name)[:60],
        )
        for name in given
        if name not in layer.columns
    ]
    for name, column in layer.columns.items():
        if isinstance(given.get(name), dict | list):
            fault = plain_fault(f"{name} is not one value", "give one", "definition", column=name)
            faults.append(fault)
            continue
        alone = replace(layer, columns={name: column})
        _, (found,) = checked_rows([given], alone, file="", records=[""])
        mend = "choose one of the list" if column.one_of else "correct it"
        faults += [plain_fault(fault.problem, mend, "definition", column=name) for fault in found]
    return faults


def _values(layer: Layer, given: Mapping[str, Any]) -> Row:
    plain = {name: value for name, value in given.items() if not isinstance(value, dict | list)}
    (row,), _ = checked_rows([plain], layer, file="", records=[""])
    return row


def _shape(one: _Ready, feature: Mapping[str, Any], crs: str) -> shapely.Geometry | None:
    """Read the shape of an edit into EPSG:4326, and judge it by itself."""
    kept = one.stands.crs if one.stands else None
    if one.operation == "merge" and "geometry" not in feature:
        assert one.stands is not None and kept is not None  # noqa: S101 - as _ready found
        shape: shapely.Geometry = reference_systems.outgoing(one.stands.shapes, kept, CRS84)[0]
        return shape
    if feature.get("geometry") is None and one.layer.name in _MAY_LACK_SHAPE:
        return None
    shape = shape_of(feature if crs == CRS84 else _in_lon_lat(feature, crs))
    if faults := invalid_faults(shape, one.layer.name):
        raise RefusedError(faults)
    return shape


def _in_lon_lat(feature: Mapping[str, Any], crs: str) -> dict[str, Any]:
    try:
        read = shapely.from_geojson(json.dumps(feature.get("geometry"), allow_nan=False))
    except (shapely.errors.GEOSException, TypeError, ValueError, RecursionError):
        raise refused("its shape is not GeoJSON", "draw it again") from None
    moved = reference_systems.incoming(shapely.force_2d(read), crs, reference_systems.LON_LAT)
    return feature_of(moved, {}, None)


def _taken_keys(
    connection: sqlite3.Connection, ready: Sequence[_Ready]
) -> Iterator[tuple[int, str]]:
    """Find edits that would give a row the name of another, and the column to change."""
    going = {(one.layer.name, one.fid) for one in ready if one.stands}
    seen: set[tuple[object, ...]] = set()
    for index, one in enumerate(ready):
        key = tuple(one.values.get(name) for name in one.layer.key)
        stood = one.stands and tuple(one.stands.values[0][name] for name in one.layer.key)
        if one.operation == "delete" or not key or None in key:
            continue
        but = {fid for name, fid in going if name == one.layer.name}
        taken = key != stood and feature_rows.key_is_taken(
            connection, one.layer, one.values, but=but
        )
        if taken or (one.layer.name, *key) in seen:
            yield index, one.layer.key[-1]
        seen.add((one.layer.name, *key))


def _judge(
    connection: sqlite3.Connection, ready: Sequence[_Ready], path: Path, *, keep_overlaps: bool
) -> None:
    """Refuse what the ground around forbids."""
    if keep_overlaps:
        return
    plain = [
        {
            "layer": one.layer.name,
            "op": "replace" if one.operation == "merge" else one.operation,
            "id": one.identity,
            "feature": None if one.shape is None else feature_of(one.shape, one.values, None),
        }
        for one in ready
    ]
    faults = faults_of(plain, StoredGround(connection, str(path)))
    if faults:
        raise RefusedError(faults)


def _write(connection: sqlite3.Connection, one: _Ready) -> str:
    if one.operation == "delete":
        feature_rows.delete(connection, one.layer, fid=one.fid)
        return str(one.identity)
    kept = kept_in(connection, one.layer, "")
    shape = one.shape and reference_systems.incoming(one.shape, CRS84, kept)
    if one.operation == "create":
        return feature_rows.insert(connection, one.layer, one.values, shape, identity=one.identity)
    feature_rows.replace(connection, one.layer, one.values, shape, fid=one.fid)
    return str(one.identity)


def _renamed(ready: Sequence[_Ready]) -> list[tuple[Layer, Row, Row]]:
    """Return the rows that edits replace, before and after."""
    return [
        (one.layer, one.stands.values[0], one.values) for one in ready if one.stands and one.values
    ]


def _etag(connection: sqlite3.Connection, layer: Layer, identity: str, path: Path) -> str | None:
    found = features.told_row(connection, layer, identity, file=str(path))
    return found.etag if found else None
