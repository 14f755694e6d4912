"""The shapes of a frame of features."""

import geopandas as gpd
import numpy as np

from turfmap.foundations.shapes import Shapes


def shapes_of(frame: gpd.GeoDataFrame) -> Shapes:
    """Return a frame's geometry as an array of shapes, shape (n,)."""
    return np.asarray(frame.geometry.array, dtype=object)
