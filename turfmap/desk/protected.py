"""Protected features of a place: their distances and margins, and what must be said of them."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from turfmap.desk.frame_shapes import shapes_of
from turfmap.foundations.definitions import Table, table
from turfmap.foundations.shapes import is_area, is_present
from turfmap.foundations.units import distance_words
from turfmap.ground.setbacks import Setback, Work, setbacks

# About a mile and a quarter north and south, in degrees; further off is likely a slip.
FAR_DEGREES = 0.02
NAMES_TOLD = 3

COLUMNS = [
    "layer",
    "fid",
    "id",
    "category",
    "name",
    "distance_m",
    "margin_m",
    "noted_margin_m",
    "half_width_m",
    "geometry",
]


@dataclass(frozen=True)
class Overrides:
    """What the user gives for one run.

    Attributes
    ----------
    setbacks_m
        Distances by category that replace the table's [m].
    margin_m
        A position margin that replaces the columns' [m].
    reductions_pct
        What the label lets each measure against drift take off, by its name [percent].
    kind
        "spray" or "fertilise", for rules written for one of them; "" where it is not said.
    method
        A way of applying that some rules allow to come closer, or "".
    """

    setbacks_m: Mapping[str, float]
    margin_m: float | None = None
    reductions_pct: Mapping[str, float] = field(default_factory=dict)
    kind: str = ""
    method: str = ""


def protected_kinds() -> list[str]:
    """Return every category of protected feature, in the order of attribution."""
    return [row["kind"] for name in ("water_kind", "sensitive_kind") for row in table(name).rows]


def protected_features(
    layers: Iterable[tuple[gpd.GeoDataFrame, str]],
    rules: tuple[Work, Table],
    overrides: Overrides,
) -> tuple[gpd.GeoDataFrame, dict[str, Setback]]:
    """Return protected features with their distances, and the setback of each category.

    Parameters
    ----------
    layers
        Frames of features and the layer that each is of.
    rules
        What is to be done, and the table of setbacks.
    overrides
        What is given for this run.

    Returns
    -------
    features : geopandas.GeoDataFrame
        Columns ``layer, fid, id, category, name, distance_m, margin_m, noted_margin_m,
        half_width_m``, in the order in which lost ground is attributed.
    used : dict of str to Setback
        For every category that has a setback.
    """
    frame = pd.concat([features.assign(layer=layer) for features, layer in layers])
    frame = frame.rename(columns={"kind": "category"})
    rank = {kind: place for place, kind in enumerate(protected_kinds())}
    order = frame["category"].map(rank).fillna(len(rank))
    frame = frame.iloc[np.argsort(order.to_numpy(), kind="stable")].reset_index(drop=True)

    used = setbacks(protected_kinds(), rules[1], rules[0], overrides.setbacks_m)
    widest_m = max(max(found.distance_m, found.asked_m) for found in used.values())
    distance = frame["category"].map({name: found.distance_m for name, found in used.items()})
    frame["distance_m"] = distance.fillna(widest_m).astype(float)
    noted = _margins(frame)
    given = overrides.margin_m
    frame["noted_margin_m"] = noted
    frame["margin_m"] = noted if given is None else pd.Series(given, frame.index, dtype=float)
    frame["half_width_m"] = _half_widths(frame)
    return gpd.GeoDataFrame(frame[COLUMNS], geometry="geometry", crs="EPSG:4326"), used


def said_of(features: gpd.GeoDataFrame, used: Mapping[str, Setback]) -> list[str]:
    """Return what must be said of protected features and of the distances kept from them."""
    here = {name: found for name, found in used.items() if name in set(features["category"])}
    return [
        *_unknown_kinds(features, used),
        *_shapeless(features),
        *_thin(features),
        *_less_margin(features),
        *_closer(here),
        *_unverified(here),
    ]


def far_features(features: gpd.GeoDataFrame, zones: gpd.GeoDataFrame) -> list[str]:
    """Say which protected features lie so far from every zone that their place may be wrong."""
    shapes = shapes_of(features)
    tree = shapely.STRtree(shapes_of(zones))
    near = np.unique(tree.query(shapes, predicate="dwithin", distance=FAR_DEGREES)[0])
    far = np.setdiff1d(np.flatnonzero(is_present(shapes)), near)
    if not far.size or zones.empty:
        return []
    return [
        f"More than a mile from every zone, look whether the place is right:"
        f" {few(features['name'].iloc[far])}."
    ]


def few(names: Iterable[object]) -> str:
    """Return the first names and how many more there are."""
    told = [str(name)[:60] for name in names]
    more = f" and {len(told) - NAMES_TOLD:,} more" if len(told) > NAMES_TOLD else ""
    return ", ".join(told[:NAMES_TOLD]) + more


def _unknown_kinds(frame: gpd.GeoDataFrame, used: Mapping[str, Setback]) -> list[str]:
    unknown = sorted(set(frame["category"].fillna("(no kind)")) - used.keys())
    return [
        f"{category} is not a kind that turfmap knows: the widest setback is kept from it."
        for category in unknown
    ]


def _margins(frame: gpd.GeoDataFrame) -> "pd.Series[float]":
    known_by = {
        name: row["position_margin_m"]
        for name, row in table("edge_known_by").by("edge_known_by").items()
    }
    usual: pd.Series[float] = frame["edge_known_by"].map(known_by).fillna(known_by["unknown"])
    margins: pd.Series[float] = pd.to_numeric(frame["position_margin_m"], errors="coerce")
    # Another program may have written a margin below 0: it must not shorten a setback.
    sound = (margins >= 0.0) & (margins < np.inf)
    return margins.where(sound).fillna(usual).astype(float)


def _less_margin(features: gpd.GeoDataFrame) -> list[str]:
    less = features["name"][features["margin_m"] < features["noted_margin_m"]]
    if less.empty:
        return []
    return [f"A smaller position margin is used than is noted for: {few(less)}."]


def _half_widths(frame: gpd.GeoDataFrame) -> "pd.Series[float]":
    """Return half the width of what is drawn as a line or point; an area has its own edge."""
    width = pd.to_numeric(frame["width_m"], errors="coerce")
    width = width.where((width >= 0.0) & (width < np.inf)).fillna(0.0)
    drawn_thin = ~is_area(shapes_of(frame))
    half: pd.Series[float] = (width / 2.0).where(drawn_thin, 0.0)
    return half


def _shapeless(frame: gpd.GeoDataFrame) -> list[str]:
    lost = frame["name"][~is_present(shapes_of(frame))]
    return [f"Without a shape, so nothing is kept from it: {few(lost)}."] if len(lost) else []


def _thin(frame: gpd.GeoDataFrame) -> list[str]:
    """Say what has width on the ground and is drawn as a line or point without one."""
    spots = {
        row["kind"]
        for name in ("water_kind", "sensitive_kind")
        for row in table(name).rows
        if row["is_spot"]
    }
    shapes = shapes_of(frame)
    thin = is_present(shapes) & ~is_area(shapes) & (frame["half_width_m"] == 0.0).to_numpy()
    thin &= ~frame["category"].isin(spots).to_numpy()
    if not thin.any():
        return []
    return [
        "Drawn as a line or point without a width, so the distance is kept from its middle only:"
        f" {few(frame['name'][thin])}."
    ]


def _closer(used: Mapping[str, Setback]) -> list[str]:
    """Say where less is kept than the table or the label asks for, and by how much."""
    return [
        f"{found.category.replace('_', ' ')}: {distance_words(found.distance_m)} is kept"
        f" ({found.source}), where {distance_words(found.asked_m)} is asked for ({found.asked_by})."
        for found in used.values()
        if found.distance_m < found.asked_m
    ]


def _unverified(used: Mapping[str, Setback]) -> list[str]:
    unsure = [found.category.replace("_", " ") for found in used.values() if found.unverified]
    if not unsure:
        return []
    kinds = ", ".join(unsure)
    return [f"Setbacks not verified, confirm on the label and with local rules: {kinds}."]
