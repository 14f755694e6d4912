"""After an edit: which zones it touches, and those alone cut again, to the same bits."""

import numpy as np
import shapely

from turfmap.foundations import plane
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes, is_present
from turfmap.ground.near import Indices, Surroundings, Things, protected_around
from turfmap.ground.open_ground import open_ground, owned_by_others
from turfmap.ground.overlaps import overlaps
from turfmap.ground.treatable import Treatable, keep_clear


def touched_by_zone(before: shapely.Geometry, after: shapely.Geometry, zones: Shapes) -> Indices:
    """Return the zones whose ground may change when one of them is redrawn.

    Parameters
    ----------
    before, after
        The zone's old and new shape in EPSG:4326; None where it is new or deleted.
    zones
        All zones as they are after the edit, shape (n,).

    Returns
    -------
    ndarray of int
        Indices, ascending: the zone itself and those that it met or meets.
    """
    shapes = np.array([before, after], dtype=object)
    tree = shapely.STRtree(zones)
    touched: Indices = np.unique(tree.query(shapes[is_present(shapes)])[1])
    return touched


def touched_by_feature(before: Things, after: Things, zones: Shapes) -> Indices:
    """Return the zones whose ground may change when a protected feature or obstacle is edited.

    Parameters
    ----------
    before, after
        The feature as it was and is, none or one of each, with its radius.
    zones
        All zones, shape (n,).
    """
    boxes = plane.bounds(zones)
    found = [
        around.tree.query(shapely.box(*boxes[there].T))[0]
        for things in (before, after)
        for around, there in [(protected_around(things), np.flatnonzero(~np.isnan(boxes[:, 0])))]
    ]
    return np.unique(np.concatenate(found))


def cut_again(
    zones: Shapes,
    chosen: Indices,
    obstacles: Surroundings,
    protected: Surroundings,
    *,
    rank: Floats,
    neighbours: shapely.STRtree,
) -> Treatable:
    """Cut some zones of a region as a run over all of them would.

    Parameters
    ----------
    zones
        All zones, shape (n,).
    chosen
        Indices of those to cut, ascending, shape (k,).
    obstacles, protected
        What surrounds them, made ready once (see `near`).
    rank
        Who owns ground that is drawn twice, shape (n,).
    neighbours
        A tree of all zones.

    Returns
    -------
    Treatable
        Of the chosen zones, shape (k,); equal to the bit to those of a full run.
    """
    near = np.unique(np.concatenate([chosen, neighbours.query(zones[chosen])[1]]))
    batch = np.searchsorted(near, chosen)
    shared = overlaps(zones[near], rank[near])
    others = owned_by_others(zones[near], batch, shared)
    return keep_clear(open_ground(zones[chosen], obstacles, others), protected)
