"""What lies on and around a place, read from the user's file for the pieces of work."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd

from turfmap.desk.own_rows import own_table
from turfmap.desk.product_book import work_with
from turfmap.desk.protected import Overrides, far_features, few, protected_features
from turfmap.foundations.definitions import Layer, map_layer, table
from turfmap.foundations.errors import input_fault
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes, repaired
from turfmap.ground.belonging import lies_in
from turfmap.ground.near import Things
from turfmap.ground.setbacks import Setback, reduced_share
from turfmap.store import geopackage

LON_LAT = "EPSG:4326"


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
        half_width_m = self.obstacles["width_m"].fillna(0.0).to_numpy(float) / 2.0
        return Things(shapes_of(self.obstacles), half_width_m)

    def protected_things(self) -> Things:
        """Return the protected features with setback and margin."""
        parts = ["distance_m", "margin_m", "half_width_m"]
        reach_m = self.protected[parts].sum(axis=1).to_numpy(float)
        return Things(shapes_of(self.protected), reach_m)


def shapes_of(frame: gpd.GeoDataFrame) -> Shapes:
    """Return a frame's geometry as an array of shapes, shape (n,)."""
    return np.asarray(frame.geometry.array, dtype=object)


def read_place(
    path: Path, *, property_name: str | None, product: str | None, overrides: Overrides
) -> Place:
    """Read zones and everything that takes ground from them.

    Raises
    ------
    InputFaultsError
        If the file, the property or the product is not there.
    """
    cautions: list[str] = []
    layers = {
        name: _lon_lat(geopackage.read_layer(path, name), map_layer(name), cautions)
        for name in ("property", "zone", "obstacle", "water", "sensitive_site")
    }
    properties, zones = layers["property"], with_property(layers["zone"], layers["property"])
    obstacles, standing_water = _standing_for(zones)
    obstacles = pd.concat([layers["obstacle"], obstacles], ignore_index=True)
    neighbours = zones.iloc[:0]
    if property_name is not None:
        everywhere = zones
        zones, properties = _only(property_name, zones, properties, file=str(path))
        neighbours = _beside(zones, everywhere)
    work, labels = work_with(path, product, properties, overrides.reductions_pct, cautions)
    cautions += _reduced(overrides.reductions_pct)
    work = replace(work, kinds=tuple({*work.kinds, overrides.kind} - {""}), method=overrides.method)
    protected, used = protected_features(
        [
            (layers["water"], "water"),
            (standing_water, "water"),
            (layers["sensitive_site"], "sensitive_site"),
        ],
        (work, own_table(path, "setback").overridden(labels)),
        overrides,
        cautions,
    )
    cautions += far_features(protected, layers["zone"])
    for name in ("property", "zone", "obstacle", "water", "sensitive_site"):
        cautions += _undeclared(layers[name], map_layer(name))
    cautions += not_looked(properties)
    is_part = property_name is not None
    return Place(zones, neighbours, is_part, properties, obstacles, protected, used, cautions)


def _lon_lat(frame: gpd.GeoDataFrame, layer: Layer, cautions: list[str]) -> gpd.GeoDataFrame:
    """Bring a layer to lon/lat and mend shapes that some other program left broken."""
    if frame.crs is not None and frame.crs != LON_LAT:
        frame = frame.to_crs(LON_LAT)
    mended, repairs = repaired(shapes_of(frame))
    for repair in repairs:
        name = frame["name"].iloc[repair.index]
        cautions.append(
            f"{layer.title}: the shape of {name} is broken ({repair.problem}) and was mended"
            " for this answer; draw it again."
        )
    return frame.set_geometry(gpd.GeoSeries(mended, index=frame.index, crs=LON_LAT))


def with_property(zones: gpd.GeoDataFrame, properties: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return zones, each with the name of its property.

    A zone drawn in a desktop GIS may lack it: then it is where most of the zone lies.
    """
    bare = zones["property"].isna().to_numpy() | (zones["property"] == "").to_numpy()
    if not bare.any():
        return zones
    names = np.append(properties["name"].to_numpy(object), "(no property)")
    zones = zones.copy()
    zones.loc[bare, "property"] = names[lies_in(shapes_of(zones)[bare], shapes_of(properties))]
    return zones


def _standing_for(zones: gpd.GeoDataFrame) -> tuple[gpd.GeoDataFrame, gpd.GeoDataFrame]:
    """Return the zones that act on their neighbours as obstacles and as water."""
    stands_for = zones["kind"].map(
        {kind: row["stands_for"] for kind, row in table("zone_kind").by("kind").items()}
    )
    hard = zones.loc[stands_for == "obstacle", ["name", "geometry"]].assign(width_m=np.nan)
    water = zones.loc[stands_for == "water", ["name", "position_margin_m", "geometry"]]
    return hard, water.assign(kind="pond", edge_known_by=None, width_m=np.nan)


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


def _reduced(reductions_pct: Mapping[str, float]) -> list[str]:
    if not reductions_pct:
        return []
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
                f"{layer.title}: {column.name} is not as it may be, and counts as not known,"
                f" at {few(frame['name'][wrong])}."
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
