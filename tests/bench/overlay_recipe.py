"""The usual recipe with geopandas: one UTM zone, buffer, overlay.

The buffers are not dissolved into one shape first: that is slower by far. turfmap says what each
cause takes, so that the losses sum to the no-spray ground; the recipe gets that by taking the
categories one after another, "intersection" for what is lost and "difference" for what is left.
`overlay_gross` is as lean as a recipe can be: it takes all categories at once, and what it says
of the causes counts ground that two of them share twice.

turfmap also says of each cause all that it reaches, shared or not: the recipe gets that by one
more "intersection" with all buffers. What obstacles take is the area before less the area after.
"""

from collections.abc import Callable
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd

from tests.bench.measuring import Answer, Work, run_child
from tests.bench.region import CATEGORIES, SETBACKS_M, Region

# geopandas has no types.
Frame = Any

UTM_16N = 32616
# Degrees that reach further than the largest setback, at this latitude.
NEAR_DEGREES = 1.3 * float(SETBACKS_M.max()) / 92_900.0


def overlay(region: Region) -> Work:
    """Cut every zone of the region, cause after cause."""
    frames = _frames(region)
    return lambda: _answer(*_cause_after_cause(*frames), region.zones.size)


def overlay_gross(region: Region) -> Work:
    """Cut every zone of the region, all causes at once."""
    frames = _frames(region)
    return lambda: _answer(*_at_once(*_open_and_buffers(*frames)), region.zones.size)


def overlay_one_edit(region: Region) -> Work:
    """Cut the properties of the edited zones, one after another, by the leaner recipe.

    The frames are made and indexed already.
    """
    zones, obstacles, protected = _frames(region)
    of_property = zones.groupby("owner").indices
    look_up = _ready_to_look_up(obstacles), _ready_to_look_up(protected)

    def cut(zone: int) -> Answer:
        own = zones.iloc[of_property[region.owner[zone]]]
        west, south, east, north = own.total_bounds
        box = (west - NEAR_DEGREES, south - NEAR_DEGREES, east + NEAR_DEGREES, north + NEAR_DEGREES)
        left, lost = _at_once(*_open_and_buffers(own, *(near(box) for near in look_up)))
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


def _open_and_buffers(zones: Frame, obstacles: Frame, protected: Frame) -> tuple[Frame, Frame]:
    """Return the zones without beds in lawns and without obstacles, and the buffers."""
    zones, obstacles, protected = (frame.to_crs(UTM_16N) for frame in (zones, obstacles, protected))
    drawn = protected.buffer(protected["distance_m"], quad_segs=16)
    is_bed = zones["rank"] == 0
    lawns = zones[~is_bed].overlay(zones.loc[is_bed, ["geometry"]], how="difference")
    whole = pd.concat([zones[is_bed], lawns])
    open_ground = whole.overlay(obstacles[["geometry"]], how="difference")
    return open_ground, protected[["category"]].set_geometry(drawn)


def _at_once(open_ground: Frame, buffers: Frame) -> tuple[Frame, Frame]:
    """Return the treatable ground, and what buffers take of the open ground."""
    lost = open_ground.overlay(buffers, how="intersection")
    left = open_ground.overlay(buffers, how="difference")
    return left.assign(area_m2=left.area), lost.assign(area_m2=lost.area)


def _cause_after_cause(zones: Frame, obstacles: Frame, protected: Frame) -> tuple[Frame, Frame]:
    """Return the treatable ground, and what each category takes of what others left."""
    left, buffers = _open_and_buffers(zones, obstacles, protected)
    reached = left.overlay(buffers, how="intersection")
    reached["area_m2"] = reached.area
    lost = []
    for category in range(len(CATEGORIES)):
        left, taken = _at_once(left, buffers[buffers["category"] == category])
        lost.append(taken)
    return left, pd.concat([each for each in lost if len(each)] or lost)


def _frames(region: Region) -> tuple[Frame, Frame, Frame]:
    zones = {"zone": np.arange(region.zones.size), "owner": region.owner, "rank": region.rank}
    protected = {"category": region.category, "distance_m": region.distance_m}
    return (
        gpd.GeoDataFrame(zones, geometry=region.zones, crs=4326),
        gpd.GeoDataFrame(geometry=region.obstacles, crs=4326),
        gpd.GeoDataFrame(protected, geometry=region.protected, crs=4326),
    )


def _ready_to_look_up(
    frame: Frame,
) -> Callable[[tuple[float, float, float, float]], Frame]:
    index = frame.sindex
    return lambda box: frame.iloc[np.sort(index.intersection(box))]


def _answer(left: Frame, lost: Frame, zones: int) -> Answer:
    """Sort the frames' rows into arrays; a zone that is gone has no row."""
    ground = np.full(zones, None, dtype=object)
    ground[left["zone"].to_numpy()] = left.geometry.to_numpy()
    treatable_m2 = np.bincount(left["zone"], left["area_m2"], zones).astype(np.float64)
    lost_m2 = np.bincount(lost["category"], lost["area_m2"], len(CATEGORIES)).astype(np.float64)
    return Answer(treatable_m2, lost_m2, ground)


if __name__ == "__main__":
    run_child({way.__name__: way for way in (overlay, overlay_gross, overlay_one_edit)})
