"""Ground that is drawn twice: which zone owns it, so that nothing is treated twice."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from turfmap.foundations.shapes import Shapes
from turfmap.ground.near import Indices

# Interiors meet: more than a shared edge or corner.
_INTERIORS_MEET = "T********"


@dataclass(frozen=True)
class Overlaps:
    """Pairs of zones that share ground, one row a pair, ordered by loser, then owner.

    Attributes
    ----------
    owner
        The zone that keeps the shared ground, shape (p,).
    loser
        The zone that it is taken from, shape (p,).
    """

    owner: Indices
    loser: Indices


def overlaps(zones: Shapes, rank: NDArray[np.float64]) -> Overlaps:
    """Find zones that share ground and say whose it is.

    Parameters
    ----------
    zones
        Valid areas in one reference system, shape (n,); missing ones share nothing.
    rank
        The zone with the lower rank owns the ground, shape (n,); of equal ones, the first.
    """
    tree = shapely.STRtree(zones)
    one, other = tree.query(zones)
    owns = (rank[one] < rank[other]) | ((rank[one] == rank[other]) & (one < other))
    one, other = one[owns], other[owns]
    share = shapely.relate_pattern(zones[one], zones[other], _INTERIORS_MEET)
    one, other = one[share], other[share]
    order = np.lexsort((one, other))
    return Overlaps(one[order], other[order])
