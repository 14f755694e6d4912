"""Which property a zone lies in."""

import numpy as np
import shapely
from numpy.typing import NDArray

from turfmap.foundations.shapes import Shapes, repaired

# A zone drawn over the line by a little still lies where most of it is.
SHARE_THAT_COUNTS = 0.5


def lies_in(zones: Shapes, properties: Shapes) -> NDArray[np.int64]:
    """Return the property that holds most of each zone.

    Parameters
    ----------
    zones, properties
        Areas in one lon/lat reference system, broken ones too, shapes (n,) and (m,); missing
        ones match nothing.

    Returns
    -------
    ndarray of int, shape (n,)
        Index of the property that holds at least half of the zone, -1 where none does.
    """
    # Mended here, so that no caller can forget: GEOS refuses to intersect a bow-tie.
    (zones, _), (properties, _) = repaired(zones), repaired(properties)
    owner = np.full(zones.size, -1, dtype=np.int64)
    tree = shapely.STRtree(properties)
    zone, candidate = tree.query(zones, predicate="intersects")
    # Areas in square degrees: only their ratio within one zone counts.
    shared = shapely.area(shapely.intersection(zones[zone], properties[candidate]))
    enough = shared >= SHARE_THAT_COUNTS * shapely.area(zones[zone])
    zone, candidate, shared = zone[enough], candidate[enough], shared[enough]
    order = np.lexsort((-candidate, shared))  # the largest share last; first drawn wins a tie
    owner[zone[order]] = candidate[order]
    return owner
