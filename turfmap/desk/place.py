"""What lies on and around a place, read from the user's file for the pieces of work."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.own_rows import own_table
from turfmap.desk.product_book import work_with
from turfmap.desk.protected import (
    Overrides,
    far_features,
    few,
    protected_features,
    said_of,
)
from turfmap.foundations.definitions import Layer, Row, Table, map_layer, table
from turfmap.foundations.errors import input_fault
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import as_line, is_area, repaired
from turfmap.ground.belonging import lies_in
from turfmap.ground.near import Things, protected_around
from turfmap.ground.setbacks import Setback, reduced_share, unmatched_places
from turfmap.store import geopackage

LON_LAT = "EPSG:4326"
# What lies a little further off than any reach is still of use on a map.
BEYOND_REACH_M = 150.0
# What a zone is said to be of that names no property and lies in none.
NO_PROPERTY = "(no property)"


@dataclass(frozen=True)
class Place:
    """A file's ground, ready to be measured.

    Attributes
    ----------
    zones, properties, obstacles
        Frames in EPSG:4326; every zone has its property.
    neighbours
        Zones that were not asked for and lie so near that they may share ground with those that
        were.
    is_part
        Whether only one property was asked for.
    protected
        Water and sensitive sites in the order in which lost ground is attributed, with columns
        ``layer, category, name, distance_m, margin_m, half_width_m``.
    setbacks
        The distance used for each category that is on the map.
    cautions
        What the reader must be told.
    """

    zones: gpd.GeoDataFrame
    neighbours: gpd.GeoDataFrame
    is_part: bool
    properties: gpd.GeoDataFrame
    obstacles: gpd.GeoDataFrame
    protected: gpd.GeoDataFrame
    setbacks: Mapping[str, Setback]
    cautions: list[str]

    def obstacle_things(self) -> Things:
        """Return the obstacles as ground that is taken."""
        shapes = shapes_of(self.obstacles)
        width_m = pd.to_numeric(self.obstacles["width_m"], errors="coerce").to_numpy(float)
        usable = (width_m > 0.0) & (width_m < np.inf) & ~is_area(shapes)
        return Things(shapes, np.where(usable, width_m / 2.0, 0.0))

    def protected_things(self) -> Things:
        """Return the protected features with setback and margin."""
        parts = ["distance_m", "margin_m", "half_width_m"]
        reach_m = self.protected[parts].sum(axis=1).to_numpy(float)
        return Things(shapes_of(self.protected), reach_m)


def read_place(
    path: Path, *, property_name: str | None, product: str | None, overrides: Overrides
) -> Place:
    """Read zones and everything that takes ground from them.

    Raises
    ------
    InputFaultsError
        If the file, the property or the product is not there.
    """
    frames = {name: geopackage.read_layer(path, name) for name in READ}
    return place_of(
        frames,
        own_table(path, "setback"),
        path,
        property_name=property_name,
        product=product,
        overrides=overrides,
    )


def place_of(
    frames: Mapping[str, gpd.GeoDataFrame],
    own_rules: Table,
    path: Path,
    *,
    property_name: str | None,
    product: str | None,
    overrides: Overrides,
) -> Place:
    """Return the place that rows of a file make, all of its rows or those near an edit.

    Parameters
    ----------
    frames
        Rows of each layer in `READ`, as they were drawn.
    own_rules
        Setbacks with the user's own over the shipped ones.
    path
        The file that they are of, for the product.
    """
    cautions: list[str] = []
    layers = {name: _Layer(frames[name], map_layer(name)) for name in READ}
    properties, everywhere = layers["property"].frame, layers["zone"].frame
    everywhere = with_property(everywhere, properties)
    hard, standing_water = _standing_for(everywhere)
    obstacles = pd.concat([layers["obstacle"].frame, hard], ignore_index=True)
    zones, neighbours = everywhere, everywhere.iloc[:0]
    if property_name is not None:
        zones, properties = _only(property_name, zones, properties, file=str(path))
        neighbours = _beside(zones, everywhere)
    work, labels = work_with(path, product, properties, overrides.reductions_pct, cautions)
    no_state = bool(properties["state"].isna().any()) or properties.empty
    kinds = tuple({*work.kinds, overrides.kind} - {""})
    work = replace(work, kinds=kinds, method=overrides.method, place_unknown=no_state)
    rules = own_rules.overridden(labels)
    protected, used = protected_features(
        [
            (layers["water"].frame, "water"),
            (standing_water, "water"),
            (layers["sensitive_site"].frame, "sensitive_site"),
        ],
        (work, rules),
        overrides,
    )
    if property_name is None:
        cautions += far_features(protected, everywhere)
    else:
        protected = _within_reach(protected, [zones, properties])
    shown = {"zone": zones, "property": properties, "obstacle": layers["obstacle"].frame.iloc[:0]}
    shown |= {name: protected[protected["layer"] == name] for name in ("water", "sensitive_site")}
    if property_name is None:
        shown["obstacle"] = layers["obstacle"].frame
    for name, frame in shown.items():
        cautions += layers[name].said_of(frame["fid"])
    cautions += _reduced(overrides.reductions_pct, labels)
    cautions += said_of(protected, used)
    cautions += _elsewhere(unmatched_places(rules, work))
    cautions += not_looked(properties)
    is_part = property_name is not None
    used = {name: found for name, found in used.items() if name in set(protected["category"])}
    return Place(zones, neighbours, is_part, properties, obstacles, protected, used, cautions)


READ = ("property", "zone", "obstacle", "water", "sensitive_site")
PROTECTED = ("water", "sensitive_site")


class _Layer:
    """A layer in lon/lat, its broken shapes mended, and what must be said of its rows."""

    def __init__(self, frame: gpd.GeoDataFrame, layer: Layer) -> None:
        if frame.crs is not None and frame.crs != LON_LAT:
            frame = frame.to_crs(LON_LAT)
        drawn = shapes_of(frame)
        mended, self._repairs = repaired(drawn)
        if layer.name in PROTECTED:
            # Nothing is left of its area, but where it is, is known: that is kept clear of.
            for repair in self._repairs:
                if repair.lost:
                    mended[repair.index] = as_line(drawn[repair.index])
        self._layer = layer
        series = gpd.GeoSeries(mended, index=frame.index, crs=LON_LAT)
        self.frame: gpd.GeoDataFrame = frame.set_geometry(series)

    def said_of(self, fids: "pd.Series[int]") -> list[str]:
        """Return what must be said of the rows with these numbers."""
        told = set(fids)
        broken = [
            f"{self._layer.title}: the shape of {self.frame['name'].iloc[repair.index]} is broken"
            f" ({repair.problem}) and was mended for this answer; draw it again."
            for repair in self._repairs
            if self.frame["fid"].iloc[repair.index] in told
        ]
        return broken + _undeclared(self.frame[self.frame["fid"].isin(told)], self._layer)


def _within_reach(
    protected: gpd.GeoDataFrame, ground: Iterable[gpd.GeoDataFrame]
) -> gpd.GeoDataFrame:
    """Keep the features near what was asked for: a client's paper names no other client's."""
    parts = ["distance_m", "noted_margin_m", "margin_m", "half_width_m"]
    reach_m = protected[parts].sum(axis=1).to_numpy(float) + BEYOND_REACH_M
    around = protected_around(Things(shapes_of(protected), reach_m))
    boxes = np.concatenate([frame.geometry.bounds.to_numpy() for frame in ground])
    boxes = boxes[~np.isnan(boxes[:, 0])]
    near = around.owner[around.tree.query(shapely.box(*boxes.T))[1]]
    return protected.iloc[np.unique(near)].reset_index(drop=True)


def _elsewhere(places: list[str]) -> list[str]:
    if not places:
        return []
    return [f"Rules for {', '.join(places)} are in the table; no property asked for lies there."]


def with_property(zones: gpd.GeoDataFrame, properties: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return zones, each with the name of its property.

    A zone drawn in a desktop GIS may lack it: then it is where most of the zone lies.
    """
    bare = zones["property"].isna().to_numpy() | (zones["property"] == "").to_numpy()
    if not bare.any():
        return zones
    names = np.append(properties["name"].to_numpy(object), NO_PROPERTY)
    zones = zones.copy()
    zones.loc[bare, "property"] = names[lies_in(shapes_of(zones)[bare], shapes_of(properties))]
    return zones


def _standing_for(zones: gpd.GeoDataFrame) -> tuple[gpd.GeoDataFrame, gpd.GeoDataFrame]:
    """Return the zones that act on their neighbours as obstacles and as water."""
    stands_for = zones["kind"].map(
        {kind: row["stands_for"] for kind, row in table("zone_kind").by("kind").items()}
    )
    hard = zones.loc[stands_for == "obstacle", ["fid", "name", "geometry"]].assign(width_m=np.nan)
    water = zones.loc[stands_for == "water", ["id", "name", "position_margin_m", "geometry"]]
    return hard, water.assign(kind="pond", edge_known_by=None, width_m=np.nan, fid=-1)


def _only(
    name: str, zones: gpd.GeoDataFrame, properties: gpd.GeoDataFrame, *, file: str
) -> tuple[gpd.GeoDataFrame, gpd.GeoDataFrame]:
    known = set(properties["name"]) | set(zones["property"])
    if name not in known:
        few = ", ".join(sorted(known)[:10]) or "none yet"
        raise input_fault(
            f"there is no property {name!r}", f"choose one that is there ({few})", file=file
        )
    return (
        zones[zones["property"] == name].reset_index(drop=True),
        properties[properties["name"] == name].reset_index(drop=True),
    )


def _beside(zones: gpd.GeoDataFrame, everywhere: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    others = everywhere[~everywhere["fid"].isin(zones["fid"])]
    met = others.sindex.query(zones.geometry, predicate="intersects")[1]
    return others.iloc[np.unique(met)]


def rank_of(zones: gpd.GeoDataFrame) -> Floats:
    """Return who owns ground that is drawn twice: the zone with the lower rank, shape (n,)."""
    ranks = {kind: row["rank"] for kind, row in table("zone_kind").by("kind").items()}
    rank: Floats = zones["kind"].map(ranks).fillna(np.inf).to_numpy(float)
    return rank


def _reduced(reductions_pct: Mapping[str, float], labels: list[Row]) -> list[str]:
    if not reductions_pct:
        return []
    if not labels:
        return [
            "Nothing was reduced: the product book holds no setback of this product's own label."
        ]
    named = ", ".join(f"{name} {percent:g} %" for name, percent in reductions_pct.items())
    total = 100.0 * reduced_share(reductions_pct.values())
    return [
        f"Setbacks of the product's own label are reduced by {total:g} % ({named}): only as far"
        " as that label allows each."
    ]


def _undeclared(frame: gpd.GeoDataFrame, layer: Layer) -> list[str]:
    """Say which values of a layer, written by some other program, it does not allow."""
    said = []
    for column in layer.columns.values():
        values = frame[column.name]
        if column.one_of:
            wrong = values.notna() & ~values.isin(column.one_of)
        elif column.minimum is not None and column.maximum is not None:
            wrong = (values < column.minimum) | (values > column.maximum)
        else:
            continue
        if wrong.any():
            said.append(
                f"{layer.title}: {column.name} is not as it may be at {few(frame['name'][wrong])}."
            )
    return said


def not_looked(properties: gpd.GeoDataFrame, *, as_of: date | None = None) -> list[str]:
    """Say at which properties nobody is known to have looked for what must be protected.

    A day after `as_of` is yet to come, and tells nothing.
    """
    looked_on = properties["water_surveyed_on"]
    never = looked_on.isna()
    if as_of is not None:
        never |= looked_on > as_of.isoformat()
    if not never.any():
        return []
    return [
        "Nobody has noted when water, wells, hives and play areas were last looked for at"
        f" {few(properties['name'][never])}: none on the map does not mean none on the ground."
    ]
