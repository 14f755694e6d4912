"""A picture from the air, served in tiles."""

from collections.abc import Callable
from pathlib import Path

from turfmap.store.picture_tiles import Picture

TileMaker = Callable[[int, int, int], bytes]


def picture_tiles(path: Path) -> TileMaker:
    """Open a picture, see that it can be laid on a map, and return what cuts a tile out of it.

    Returns
    -------
    callable
        Of zoom, column and row (WebMercatorQuad), to a PNG of 256 pixels.

    Raises
    ------
    InputFaultsError
        If it cannot; the sentence says why.
    """
    return Picture(path).tile
