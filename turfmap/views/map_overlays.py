"""What was measured on the ground, as the map shows it: pictures, classes and their words."""

import base64
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from turfmap.foundations.dates import day_words

UNITS = {"slope": "%", "sun": "h a day", "hillshade": ""}


@dataclass(frozen=True)
class MapOverlay:
    """A small picture of what was measured on a property.

    Attributes
    ----------
    property
        Whose ground it shows.
    measure
        ``slope`` [%], ``sun`` [hours a day] or ``hillshade`` [share of full light].
    picture
        A PNG of `turfmap.views.grey_picture`: grey 0 is other ground, 255 is not known, and any
        other grey g is (g - 1) times `step`.
    bounds
        West, south, east, north; its pixels are square on a Mercator map [deg].
    step
        What a step of grey is worth.
    raster, taken
        The raster measured on, and the day of its heights if known. The name may hold anything.
    resolution_m, pixel_m
        Side of the cells that were measured, and of the picture's pixels [m].
    method
        How it was measured, in words.
    """

    property: str
    measure: str
    picture: bytes
    bounds: tuple[float, float, float, float]
    step: float
    raster: str
    taken: date | None
    resolution_m: float
    pixel_m: float
    method: str


@dataclass(frozen=True)
class OverlayClass:
    """A class of what is measured: what its key says.

    Attributes
    ----------
    start
        The least value that is of it [the measure's unit].
    words
        What the key says, with its numbers.
    hatched
        Whether it is hatched: so marked is what matters, without colour.
    """

    start: float
    words: str
    hatched: bool


@dataclass(frozen=True)
class MapOverlays:
    """All pictures of a map, and the classes of each measure, in order of their start."""

    pictures: Sequence[MapOverlay]
    classes: Mapping[str, Sequence[OverlayClass]]


NO_OVERLAYS = MapOverlays((), {})


def overlay_data(overlays: MapOverlays) -> dict[str, Any]:
    """Return what the page's script reads.

    Returns
    -------
    dict
        ``classes`` by measure; ``abouts``, different sentences on where pictures come from; and
        ``pictures``: measure, property, bounds, step, image as a data address, about as a place
        in abouts.
    """
    abouts: dict[str, int] = {}
    return {
        "classes": {
            measure: [[one.start, one.words, one.hatched] for one in classes]
            for measure, classes in overlays.classes.items()
        },
        "pictures": [
            {
                "measure": one.measure,
                "property": one.property,
                "bounds": list(one.bounds),
                "step": one.step,
                "about": abouts.setdefault(about_words(one), len(abouts)),
                "image": "data:image/png;base64," + base64.b64encode(one.picture).decode("ascii"),
            }
            for one in overlays.pictures
        ],
        "abouts": list(abouts),
    }


def about_words(one: MapOverlay) -> str:
    """Return where a picture comes from: raster, date, resolution, method."""
    taken = "date not known" if one.taken is None else f"taken {day_words(one.taken)}"
    cells = f"cells of {metres(one.resolution_m)}"
    if one.pixel_m > 1.02 * one.resolution_m:
        cells += f", shown as means over {metres(one.pixel_m)}"
    return f"{one.raster or 'A raster without a name'}, {taken}, {cells}. {one.method}."


def metres(length_m: float) -> str:
    """Return the side of a cell in words, in both units."""
    feet = length_m / 0.3048
    return f"{length_m:.2g} m ({feet:.2g} ft)" if length_m < 10 else f"{length_m:.0f} m"
