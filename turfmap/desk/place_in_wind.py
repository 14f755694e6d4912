"""A place under a wind: distances that hold downwind only are kept where it can carry drops from.

Without a known wind every distance is kept all round.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.place import LON_LAT, Place
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes
from turfmap.ground.downwind import Wind, downwind_no_spray
from turfmap.ground.near import Things
from turfmap.ground.setbacks import Setback

# Features with more corners than this are looked at near the ground asked for only.
MANY_CORNERS = 2_000
METRES_PER_DEGREE = 100_000.0


@dataclass(frozen=True)
class PlaceInWind(Place):
    """A place whose downwind ground is drawn; `protected` tells which rows it is of.

    Attributes
    ----------
    drawn
        The downwind ground of the rows of `protected` that have it, None for the others.
    """

    drawn: Shapes

    def protected_things(self) -> Things:
        """Return the protected features, and as shapes of their own what the wind reaches from."""
        things = super().protected_things()
        is_drawn = ~shapely.is_missing(self.drawn)
        shapes = np.where(is_drawn, self.drawn, things.shapes)
        return Things(shapes, np.where(is_drawn, 0.0, things.radius_m))


def in_wind(place: Place, wind: Wind | None) -> Place:
    """Return a place with its downwind-only distances kept where the wind reaches from.

    Parameters
    ----------
    place
        With every distance all round.
    wind
        None where it is not known, or variable: the place stays as it is.
    """
    frame = place.protected
    around_m = _kept_all_round(frame, place.setbacks)
    downwind = np.flatnonzero(around_m < frame["distance_m"].to_numpy(float))
    if wind is None or wind.is_all_round or not downwind.size:
        return place
    extra = frame.iloc[downwind]
    drawn = np.full(len(frame) + len(extra), None, dtype=object)
    beside_m = extra[["margin_m", "half_width_m"]].sum(axis=1).to_numpy(float)
    distance_m = extra["distance_m"].to_numpy(float)
    shapes = _near(shapes_of(extra), place, distance_m + beside_m)
    drawn[len(frame) :] = downwind_no_spray(shapes, wind, distance_m, beside_m)
    kept = frame.assign(distance_m=around_m, is_downwind=False)
    both = gpd.GeoDataFrame(
        pd.concat([kept, extra.assign(is_downwind=True)], ignore_index=True),
        geometry="geometry",
        crs=LON_LAT,
    )
    order = np.argsort(np.concatenate([np.arange(len(frame)), downwind]), kind="stable")
    # The stable order keeps what is lost all round before what is lost downwind.
    parts = {field.name: getattr(place, field.name) for field in fields(Place)}
    parts |= {"protected": both.iloc[order].reset_index(drop=True)}
    return PlaceInWind(**parts, drawn=drawn[order])


def _kept_all_round(frame: gpd.GeoDataFrame, used: Mapping[str, Setback]) -> Floats:
    """Return what each feature keeps whatever the wind [m]; of an unknown kind, all of it."""
    kept = {name: found.kept_all_round_m for name, found in used.items()}
    found = frame["category"].map(kept).fillna(frame["distance_m"])
    kept_m: Floats = found.to_numpy(float)
    return kept_m


def _near(shapes: Shapes, place: Place, reach_m: Floats) -> Shapes:
    """Cut large features to what lies within reach of the ground: the rest takes nothing."""
    large = np.flatnonzero(shapely.get_num_coordinates(shapes) > MANY_CORNERS)
    if not large.size or place.zones.empty:
        return shapes
    west, south, east, north = place.zones.total_bounds
    cut = shapes.copy()
    for index in large:
        wide = 2.0 * reach_m[index] / METRES_PER_DEGREE
        across = wide / max(np.cos(np.radians(max(abs(south), abs(north)))), 0.01)
        box = shapely.box(west - across, south - wide, east + across, north + wide)
        cut[index] = shapely.intersection(shapes[index], box)
    return cut
