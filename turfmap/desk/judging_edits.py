"""Edits of zones judged against the ground that they go to: what refuses them, what is told."""

import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

import geopandas as gpd
import numpy as np
import pandas as pd

from turfmap.desk.drawn_features import row_of_feature, shape_of
from turfmap.desk.edit_faults import FaultRow, plain_fault
from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.near_ground import grown
from turfmap.foundations import plane
from turfmap.foundations.definitions import table
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes, is_area, is_present, repaired, shape_array
from turfmap.foundations.units import area_words, distance_words
from turfmap.ground.belonging import lies_in
from turfmap.ground.inspection import drawn_twice, gaps, over_the_line
from turfmap.ground.seams import beside
from turfmap.store.near_rows import near_rows, rows_with

Edit = Mapping[str, Any]

# Further off than this, no other zone closes a gap that an edit leaves.
GAPS_LOOKED_FOR_M = 3.0
PROTECTED = {"water": "water_kind", "sensitive_site": "sensitive_kind"}


class EditGround(Protocol):
    """What stands where edits go."""

    def zones_near(self, boxes: Floats) -> gpd.GeoDataFrame:
        """Return stored zones whose boxes meet any of some boxes, shape (n, 4) [deg]."""

    def properties_near(self, boxes: Floats) -> gpd.GeoDataFrame:
        """Return stored properties whose boxes meet any of some boxes."""

    def properties_named(self, names: Iterable[str]) -> gpd.GeoDataFrame:
        """Return stored properties of some names, with or without a line."""

    def has_property_lines(self) -> bool:
        """Tell whether any property has a line."""


@dataclass(frozen=True)
class StoredGround:
    """The ground as an open file holds it, inside a transaction or not."""

    connection: sqlite3.Connection
    file: str

    def zones_near(self, boxes: Floats) -> gpd.GeoDataFrame:
        """Return stored zones whose boxes meet any of some boxes, shape (n, 4) [deg]."""
        return near_rows(self.connection, "zone", boxes, file=self.file)

    def properties_near(self, boxes: Floats) -> gpd.GeoDataFrame:
        """Return stored properties whose boxes meet any of some boxes."""
        return near_rows(self.connection, "property", boxes, file=self.file)

    def properties_named(self, names: Iterable[str]) -> gpd.GeoDataFrame:
        """Return stored properties of some names, with or without a line."""
        return rows_with(self.connection, "property", "name", names, file=self.file)

    def has_property_lines(self) -> bool:
        """Tell whether any property has a line."""
        found = self.connection.execute("SELECT 1 FROM rtree_property_geom LIMIT 1").fetchone()
        return found is not None


@dataclass(frozen=True)
class _Drawn:
    """The zones of a batch of edits and what stands near them.

    Attributes
    ----------
    edits
        Which edit each drawn zone is of, shape (d,).
    rows
        The drawn zones first, then those near: ``id, name, property, kind``.
    shapes
        Their shapes, shape (n,).
    properties
        Property lines near, those of the batch among them.
    """

    edits: Sequence[int]
    rows: pd.DataFrame
    shapes: Shapes
    properties: gpd.GeoDataFrame


def faults_of(edits: Sequence[Edit], ground: EditGround) -> list[FaultRow]:
    """Find why a batch of edits may not be saved as it is.

    Parameters
    ----------
    edits
        ``layer``, ``op`` (create, replace, delete), ``id`` and ``feature``, whose shape is valid
        and whose values fit the layer.
    ground
        What the file holds, before the edits.

    Returns
    -------
    list of dict
        As of `turfmap.desk.edit_faults.plain_fault`, each with ``edit``, its place in the batch:
        kind ``overlap`` for ground that another zone has (more than 0.1 m2), ``outside`` for a
        zone that lies in no property or in another than it names, ``definition`` for a property
        that is not there.
    """
    drawn = _drawn(edits, ground)
    if drawn is None:
        return []
    return [*_overlaps(drawn), *_outside(drawn, ground)]


def notes_of(edits: Sequence[Edit], ground: EditGround) -> list[FaultRow]:
    """Find what should be looked at in a batch of edits, and refuses nothing.

    Returns
    -------
    list of dict
        As of `faults_of`: kind ``gap`` for narrow ground left beside a zone, ``over_the_line``
        for a zone that goes beyond its property, ``margin`` where nobody says how the edge of
        something protected was found, ``definition`` where it needs a width.
    """
    drawn = _drawn(edits, ground)
    notes = [note for number, edit in enumerate(edits) for note in _margin(edit, number)]
    if drawn is None:
        return notes
    return [*notes, *_gaps(drawn), *_beyond(drawn)]


def _drawn(edits: Sequence[Edit], ground: EditGround) -> _Drawn | None:
    saved = [(number, edit) for number, edit in enumerate(edits) if edit["op"] != "delete"]
    mine = [(number, edit) for number, edit in saved if edit["layer"] == "zone"]
    if not mine:
        return None
    shapes = shape_array([shape_of(edit["feature"]) for _, edit in mine])
    rows = [row_of_feature(edit["feature"], "zone") | {"id": edit.get("id")} for _, edit in mine]
    boxes = grown(plane.bounds(shapes), GAPS_LOOKED_FOR_M)
    near = ground.zones_near(boxes)
    near = near[~near["id"].isin(_gone(edits, "zone"))]
    mended, _ = repaired(shapes_of(near))
    names = ["id", "name", "property", "kind"]
    both = pd.concat([pd.DataFrame(rows)[names].astype(object), near[names].astype(object)])
    return _Drawn(
        [number for number, _ in mine],
        both.reset_index(drop=True),
        np.concatenate([shapes, mended]),
        _properties(edits, ground, boxes),
    )


def _gone(edits: Sequence[Edit], layer: str) -> set[str]:
    """Return the rows that the edits take the place of."""
    return {edit["id"] for edit in edits if edit["layer"] == layer and edit["op"] != "create"}


def _properties(edits: Sequence[Edit], ground: EditGround, boxes: Floats) -> gpd.GeoDataFrame:
    """Return the property lines near, as the batch makes them."""
    near = ground.properties_near(boxes)[["id", "name", "geometry"]]
    near = near[~near["id"].isin(_gone(edits, "property"))]
    new = [
        {"id": edit.get("id"), "name": row_of_feature(edit["feature"], "property")["name"]}
        | {"geometry": shape_of(edit["feature"])}
        for edit in edits
        # A property may be there before anybody has drawn its line.
        if edit["layer"] == "property" and edit["op"] != "delete" and edit["feature"] is not None
    ]
    both = [*near.to_dict("records"), *new]
    shapes, _ = repaired(shape_array([row["geometry"] for row in both]).reshape(-1))
    return gpd.GeoDataFrame(
        {"id": [row["id"] for row in both], "name": [row["name"] for row in both]},
        geometry=shapes,
        crs="EPSG:4326",
    )


def _overlaps(drawn: _Drawn) -> list[FaultRow]:
    ranks = {kind: row["rank"] for kind, row in table("zone_kind").by("kind").items()}
    rank = drawn.rows["kind"].map(ranks).fillna(np.inf).to_numpy(float)
    faults = []
    for found in drawn_twice(drawn.shapes, rank):
        mine, other = sorted((found.zone, found.other))
        if mine >= len(drawn.edits):
            continue
        faults.append(
            plain_fault(
                f"{_called(drawn, mine)} and {_called(drawn, other)} both have"
                f" {area_words(found.area_m2)} of ground",
                "give it to one of the two",
                "overlap",
                where=found.shape,
                others=_named(drawn, [other]),
            )
            | {"edit": drawn.edits[mine], "area_m2": found.area_m2}
        )
    return faults


def _called(drawn: _Drawn, index: int) -> str:
    name = drawn.rows["name"].iloc[index]
    return str(name) if isinstance(name, str) and name else "this zone"


def _named(drawn: _Drawn, indices: Iterable[int]) -> list[str]:
    found = [drawn.rows["id"].iloc[index] for index in indices]
    return [identity for identity in found if isinstance(identity, str)]


def _outside(drawn: _Drawn, ground: EditGround) -> list[FaultRow]:
    lines = drawn.properties
    count = len(drawn.edits)
    where = lies_in(drawn.shapes[:count], shapes_of(lines))
    faults = []
    for mine, owner in enumerate(where):
        asked = drawn.rows["property"].iloc[mine]
        asked = asked if isinstance(asked, str) and asked else None
        lies = None if owner < 0 else str(lines["name"].iloc[owner])
        fault = _misplaced(drawn, mine, asked, lies, ground)
        if fault is not None:
            others = [] if owner < 0 else [str(lines["id"].iloc[owner])]
            faults.append(fault | {"edit": drawn.edits[mine], "with": others})
    return faults


def _misplaced(
    drawn: _Drawn, mine: int, asked: str | None, lies: str | None, ground: EditGround
) -> FaultRow | None:
    """Return what is wrong with where a zone lies and which property it names."""
    if lies is None:
        return _in_none(drawn, mine, asked, ground)
    if asked in {None, lies}:
        return None
    return plain_fault(
        f"{_called(drawn, mine)} says it is of {asked}, and most of it lies in {lies}",
        "name the property that it lies in, or draw it there",
        "outside",
        column="property",
        where=drawn.shapes[mine],
    )


def _in_none(drawn: _Drawn, mine: int, asked: str | None, ground: EditGround) -> FaultRow | None:
    """Return what is wrong with a zone that lies in no property that has a line."""
    here = drawn.properties[drawn.properties["name"] == asked]
    known = here if asked is None or len(here) else ground.properties_named([asked])
    if asked is not None and not len(known):
        return plain_fault(
            f"there is no property {asked}",
            "name one that is there, or draw it first",
            "definition",
            column="property",
        )
    if asked is None:
        is_lined = len(drawn.properties) > 0 or ground.has_property_lines()
    else:
        is_lined = bool(is_present(shapes_of(known)).any())
    if not is_lined:
        return None
    return plain_fault(
        f"{_called(drawn, mine)} lies outside {'every property' if asked is None else asked}",
        "draw it inside the line, or move the line of the property",
        "outside",
        where=drawn.shapes[mine],
    )


def _gaps(drawn: _Drawn) -> list[FaultRow]:
    owner = _owners(drawn)
    mine_shapes = drawn.shapes[: len(drawn.edits)]
    notes = []
    for found in gaps(drawn.shapes, owner):
        # Ground that lies between zones which were not edited is no business of this edit.
        round_it = beside(drawn.shapes, found.shape)
        edited = round_it[round_it < mine_shapes.size]
        if not edited.size:
            continue
        notes.append(
            plain_fault(
                f"{area_words(found.area_m2)} beside {_called(drawn, int(edited[0]))} is in no"
                " zone",
                "give it to one of the zones, unless it is meant",
                "gap",
                where=found.shape,
                others=_named(drawn, (int(i) for i in round_it)),
            )
            | {"edit": drawn.edits[int(edited[0])], "area_m2": found.area_m2}
        )
    return notes


def _owners(drawn: _Drawn) -> np.ndarray[Any, np.dtype[np.int64]]:
    """Return which property each zone is of: by its name, else where it lies; all -1 for none."""
    names = drawn.rows["property"].where(drawn.rows["property"].astype(bool), None).to_list()
    lies = lies_in(drawn.shapes, shapes_of(drawn.properties))
    lines = drawn.properties["name"].to_list()
    called = [
        name if isinstance(name, str) else (lines[place] if place >= 0 else "")
        for name, place in zip(names, lies, strict=True)
    ]
    _, owner = np.unique(np.array(called, dtype=str), return_inverse=True)
    return owner.astype(np.int64)


def _beyond(drawn: _Drawn) -> list[FaultRow]:
    mine = drawn.shapes[: len(drawn.edits)]
    lines = shapes_of(drawn.properties)
    return [
        plain_fault(
            f"{area_words(found.area_m2)} of {_called(drawn, found.zone)} lies beyond the property"
            " line",
            "see which of the two is drawn wrong before anybody treats it",
            "over_the_line",
            where=found.shape,
        )
        | {"edit": drawn.edits[found.zone], "area_m2": found.area_m2}
        for found in over_the_line(mine, lies_in(mine, lines), lines)
    ]


def _margin(edit: Edit, number: int) -> list[FaultRow]:
    if edit["layer"] not in PROTECTED or edit["op"] == "delete":
        return []
    row = row_of_feature(edit["feature"], edit["layer"])
    shape = shape_array(shape_of(edit["feature"]))
    notes = []
    if not row["edge_known_by"] and row["position_margin_m"] is None:
        usual = table("edge_known_by").by("edge_known_by")["unknown"]["position_margin_m"]
        notes.append(
            plain_fault(
                f"how its edge was found is not known: {distance_words(usual)} more is kept",
                "say how the edge was found, or how far it may be from the true one",
                "margin",
                column="edge_known_by",
            )
        )
    kinds = table(PROTECTED[edit["layer"]]).by("kind")
    is_spot = row["kind"] in kinds and kinds[row["kind"]]["is_spot"]
    if not (is_area(shape)[0] or is_spot or row["width_m"]):
        notes.append(
            plain_fault(
                "it is drawn without a width: the distance is kept from its middle only",
                "give its full width",
                "definition",
                column="width_m",
            )
        )
    return [note | {"edit": number} for note in notes]
