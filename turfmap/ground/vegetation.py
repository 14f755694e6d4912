"""What a picture from the air shows: grass, crowns, or neither, told by colour and by texture.

It is a draft for somebody who knows the ground: a green roof is grass to a picture, and dormant
grass is not.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Band = NDArray[np.float32]
Classes = NDArray[np.uint8]
Mask = NDArray[np.bool_]

UNKNOWN, TURF, TREE, HARD = 0, 1, 2, 3
BINS = 256
# Values that differ by less than this cannot be parted.
ALL_THE_SAME = 1e-6
# Shades of green that are looked for, at most.
MOST_SHADES = 3
# Between-class over total variance: 0.64 for one bell, 0.75 for an even spread, more for two heaps.
TWO_HEAPS = 0.75
# An index above this is plainly green. For NDVI: bare rock and sand have 0.1 or less, grassland 0.2
# to 0.5 (US Geological Survey, remote sensing phenology; from memory). The other is our own.
PLAINLY_GREEN = {"NDVI": 0.2, "excess green": 0.05}
# Crowns are rough at this scale, mown grass is not [m]. Our own choice.
TEXTURE_M = 3.0
# Sums in double precision are kept of so many rows at a time.
STRIP_ROWS = 512


@dataclass(frozen=True)
class Split:
    """Where values fall into two classes.

    Attributes
    ----------
    threshold
        Values above it are of the upper class.
    separability
        Variance between the classes over all variance, 0 to 1.
    """

    threshold: float
    separability: float


@dataclass(frozen=True)
class Seen:
    """What a picture shows, cell by cell.

    Attributes
    ----------
    classes
        `TURF`, `TREE`, `HARD` or `UNKNOWN`, shape (r, c).
    index
        The name of the index of greenness.
    green
        How it was split into plants and the rest.
    rough
        How plants were split into crowns and grass; None if they are all alike.
    """

    classes: Classes
    index: str
    green: Split
    rough: Split | None


def ndvi(red: Band, infrared: Band) -> Band:
    """Return the normalised difference vegetation index, -1 to 1.

    References
    ----------
    J. W. Rouse et al., Monitoring vegetation systems in the Great Plains with ERTS, NASA SP-351
    (1974). From memory.
    """
    total = infrared + red
    with np.errstate(invalid="ignore", divide="ignore"):
        index: Band = np.where(total > 0.0, (infrared - red) / total, np.nan).astype(np.float32)
    return index


def excess_green(red: Band, green: Band, blue: Band) -> Band:
    """Return 2g - r - b of the shares of the three colours, -1 to 2.

    References
    ----------
    D. M. Woebbecke et al., Color indices for weed identification under various soil, residue, and
    lighting conditions, Transactions of the ASAE 38(1), 1995. From memory.
    """
    total = red + green + blue
    with np.errstate(invalid="ignore", divide="ignore"):
        index: Band = np.where(total > 0.0, 3.0 * green / total - 1.0, np.nan).astype(np.float32)
    return index


def otsu(values: NDArray[np.floating]) -> Split:
    """Return the threshold that parts values best into two classes.

    Parameters
    ----------
    values
        Any finite numbers, shape (n,), n of at least 1.

    References
    ----------
    N. Otsu, A threshold selection method from gray-level histograms, IEEE Transactions on Systems,
    Man, and Cybernetics 9(1), 1979: the greatest variance between the classes, equation 18.
    """
    values = values.astype(np.float64)
    if np.ptp(values) < ALL_THE_SAME:
        return Split(float(values.max()), 0.0)
    counts, edges = np.histogram(values, bins=BINS)
    middles = (edges[:-1] + edges[1:]) / 2.0
    share = counts / counts.sum()
    below, first_moment = np.cumsum(share), np.cumsum(share * middles)
    mean = first_moment[-1]
    with np.errstate(invalid="ignore", divide="ignore"):
        between = (mean * below - first_moment) ** 2 / (below * (1.0 - below))
    between = np.nan_to_num(between, nan=0.0, posinf=0.0)
    total = float(share @ (middles - mean) ** 2)
    # Of equal bests (an empty valley) the middle one.
    best = np.flatnonzero(between >= between.max() * (1.0 - 1e-12))
    place = int(best[best.size // 2])
    separability = float(between[place] / total) if total > 0.0 else 0.0
    return Split(float(edges[place + 1]), separability)


def green_split(values: NDArray[np.floating], plainly_green: float) -> Split:
    """Return the threshold over which an index is of plants.

    Parameters
    ----------
    values
        The index of every cell, shape (n,), n of at least 1.
    plainly_green
        An index above it is of plants for sure.

    Returns
    -------
    Split
        Otsu's; but where that parts dark green from light, what is below is parted again, and where
        nothing is left that is not green, the threshold lies below all of it.
    """
    split = otsu(values)
    for _ in range(MOST_SHADES):
        below = values[values <= split.threshold]
        again = otsu(below) if below.size else Split(0.0, 0.0)
        upper = below[below > again.threshold]
        if again.separability < TWO_HEAPS or not upper.size or upper.mean() <= plainly_green:
            break
        split = again
    below = values[values <= split.threshold]
    if below.size and below.mean() > plainly_green:
        return Split(float(values.min()) - 1.0, split.separability)
    return split


def seen(bands: Sequence[Band], *, cell_m: float) -> Seen:
    """Tell grass, crowns and the rest apart.

    Parameters
    ----------
    bands
        Red, green and blue, and infrared if there is one, each of shape (r, c); NaN where the
        picture does not reach.
    cell_m
        Side of a cell [m].

    Returns
    -------
    Seen
        All `UNKNOWN` where there is no picture.
    """
    red, green, blue = bands[:3]
    name = "NDVI" if len(bands) > 3 else "excess green"
    index = ndvi(red, bands[3]) if len(bands) > 3 else excess_green(red, green, blue)
    known = np.isfinite(index)
    classes = np.full(index.shape, UNKNOWN, dtype=np.uint8)
    if not known.any():
        return Seen(classes, name, Split(float("nan"), 0.0), None)
    split = green_split(index[known], PLAINLY_GREEN[name])
    plants = known & (index > split.threshold)
    classes[known] = HARD
    classes[plants] = TURF
    rough = roughness(red + green + blue, plants, cells=max(round(TEXTURE_M / cell_m), 3))
    if not plants.any():
        return Seen(classes, name, split, None)
    # A few bright specks must not stretch the scale.
    values = np.minimum(rough, np.nanquantile(rough[plants], 0.99))
    crowns = otsu(values[plants])
    if crowns.separability < TWO_HEAPS:
        return Seen(classes, name, split, None)
    classes[plants & (values > crowns.threshold)] = TREE
    return Seen(classes, name, split, crowns)


def roughness(brightness: Band, among: Mask, *, cells: int) -> Band:
    """Return how much brightness varies round each cell, over its mean there.

    Parameters
    ----------
    brightness
        Of each cell, shape (r, c).
    among
        The cells that count: the edge of a lawn against its drive is not rough.
    cells
        Side of the square looked at; made odd.

    Returns
    -------
    ndarray of float32, shape (r, c)
        Standard deviation over mean; 0 where no cell counts.
    """
    reach = cells // 2
    rows = brightness.shape[0]
    rough: Band = np.empty(brightness.shape, dtype=np.float32)
    for top in range(0, rows, STRIP_ROWS):
        first, last = max(top - reach, 0), min(top + STRIP_ROWS + reach, rows)
        found = _roughness(brightness[first:last], among[first:last], reach)
        rough[top : top + STRIP_ROWS] = found[top - first : top - first + STRIP_ROWS]
    return rough


def _roughness(brightness: Band, among: Mask, reach: int) -> NDArray[np.float64]:
    values = np.where(among, brightness, 0.0).astype(np.float64)
    count = _box_sums(among.astype(np.float64), reach)
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = _box_sums(values, reach) / count
        variance = _box_sums(values**2, reach) / count - mean**2
        found: NDArray[np.float64] = np.sqrt(np.maximum(variance, 0.0)) / mean
    return np.nan_to_num(found)


def _box_sums(values: NDArray[np.float64], reach: int) -> NDArray[np.float64]:
    """Return sums over squares round each cell, cut off at the edges of the array."""
    sums = np.zeros((values.shape[0] + 1, values.shape[1] + 1))
    sums[1:, 1:] = values.cumsum(0).cumsum(1)
    rows, columns = (np.arange(size) for size in values.shape)
    top, bottom = np.maximum(rows - reach, 0), np.minimum(rows + reach + 1, rows.size)
    left, right = np.maximum(columns - reach, 0), np.minimum(columns + reach + 1, columns.size)
    below, above = sums[bottom], sums[top]
    boxes: NDArray[np.float64] = below[:, right] - below[:, left] - above[:, right] + above[:, left]
    return boxes
