"""The usual recipe with geopandas: one UTM zone, buffer, overlay.

The buffers are not dissolved into one shape first: that is slower by far. Because turfmap tells
what each feature takes, the recipe does so too, with one overlay more ("intersection").
"""

from collections.abc import Callable

import geopandas as gpd
import numpy as np
import pandas as pd

from tests.bench.measuring import Answer, Work, run_child
from tests.bench.region import CATEGORIES, SETBACKS_M, Region

UTM_16N = 32616
# Degrees that reach further than the largest setback, at this latitude.
NEAR_DEGREES = 1.3 * float(SETBACKS_M.max()) / 92_900.0


def overlay(region: Region) -> Work:
    """Cut every zone of the region."""
    frames = _frames(region)
    return lambda: _answer(*_recipe(*frames), region.zones.size)


def overlay_one_edit(region: Region) -> Work:
    """Cut the properties of the edited zones, one after another; frames and indexes are ready."""
    zones, obstacles, protected = _frames(region)
    of_property = zones.groupby("owner").indices
    look_up = _ready_to_look_up(obstacles), _ready_to_look_up(protected)

    def cut(zone: int) -> Answer:
        own = zones.iloc[of_property[region.owner[zone]]]
        west, south, east, north = own.total_bounds
        box = (west - NEAR_DEGREES, south - NEAR_DEGREES, east + NEAR_DEGREES, north + NEAR_DEGREES)
        left, lost = _recipe(own, *(near(box) for near in look_up))
        found = _answer(left, lost, region.zones.size)
        return Answer(found.treatable_m2[[zone]], found.lost_m2, found.ground[[zone]])

    cut(region.edited[0])  # the first call of all sets up libraries

    def work() -> Answer:
        found = [cut(zone) for zone in region.edited]
        return Answer(
            np.concatenate([each.treatable_m2 for each in found]),
            np.sum([each.lost_m2 for each in found], axis=0),
            np.concatenate([each.ground for each in found]),
        )

    return work


def _recipe(
    zones: gpd.GeoDataFrame, obstacles: gpd.GeoDataFrame, protected: gpd.GeoDataFrame
) -> tuple[gpd.GeoDataFrame, gpd.GeoDataFrame]:
    """Return the treatable ground, and what each feature takes of the open ground."""
    zones, obstacles, protected = (
        frame.to_crs(UTM_16N) for frame in (zones, obstacles, protected)
    )
    drawn = protected.buffer(protected["distance_m"], quad_segs=16)
    buffers = protected[["category"]].set_geometry(drawn)
    is_bed = zones["rank"] == 0
    lawns = zones[~is_bed].overlay(zones.loc[is_bed, ["geometry"]], how="difference")
    open_ground = pd.concat([zones[is_bed], lawns]).overlay(
        obstacles[["geometry"]], how="difference"
    )
    lost = open_ground.overlay(buffers, how="intersection")
    left = open_ground.overlay(buffers, how="difference")
    return left.assign(area_m2=left.area), lost.assign(area_m2=lost.area)


def _frames(region: Region) -> tuple[gpd.GeoDataFrame, gpd.GeoDataFrame, gpd.GeoDataFrame]:
    zones = {"zone": np.arange(region.zones.size), "owner": region.owner, "rank": region.rank}
    protected = {"category": region.category, "distance_m": region.distance_m}
    return (
        gpd.GeoDataFrame(zones, geometry=region.zones, crs=4326),
        gpd.GeoDataFrame(geometry=region.obstacles, crs=4326),
        gpd.GeoDataFrame(protected, geometry=region.protected, crs=4326),
    )


def _ready_to_look_up(
    frame: gpd.GeoDataFrame,
) -> Callable[[tuple[float, float, float, float]], gpd.GeoDataFrame]:
    index = frame.sindex
    return lambda box: frame.iloc[np.sort(index.intersection(box))]


def _answer(left: gpd.GeoDataFrame, lost: gpd.GeoDataFrame, zones: int) -> Answer:
    """Sort the frames' rows into arrays; a zone that is gone has no row."""
    ground = np.full(zones, None, dtype=object)
    ground[left["zone"].to_numpy()] = left.geometry.to_numpy()
    treatable_m2 = np.bincount(left["zone"], left["area_m2"], zones).astype(np.float64)
    lost_m2 = np.bincount(lost["category"], lost["area_m2"], len(CATEGORIES)).astype(np.float64)
    return Answer(treatable_m2, lost_m2, ground)


if __name__ == "__main__":
    run_child({way.__name__: way for way in (overlay, overlay_one_edit)})
