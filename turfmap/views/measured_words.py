"""What rasters said of a zone, in words: slopes in per cent and degrees, sun in hours a day."""

import math
from datetime import date

from turfmap.foundations.dates import day_words
from turfmap.views.map_overlays import metres

# Less than all of a zone is told; rounding is not.
ALL_OF_IT_PCT = 99.9


def degrees(slope_pct: float) -> str:
    """Return a slope in degrees, in words."""
    return f"{math.degrees(math.atan(slope_pct / 100.0)):.0f}°"


def slope_words(
    *,
    mean_pct: float,
    most_pct: float | None,
    over_pct: float | None,
    limit_pct: float | None,
    known_pct: float | None,
) -> str:
    """Return how steep a zone is, in sentences.

    Parameters
    ----------
    mean_pct, most_pct
        Mean and steepest slope, rise over run [%].
    over_pct, limit_pct
        Share of the ground that is steeper than a limit, and that limit [%].
    known_pct
        Share of the zone that this is of [%].
    """
    said = f"mean {mean_pct:.0f} % ({degrees(mean_pct)})"
    if most_pct is not None:
        said += f", steepest {most_pct:.0f} % ({degrees(most_pct)})"
    if over_pct is not None and limit_pct is not None:
        said += f"; {share_words(over_pct)} of it is over {limit_pct:.0f} %"
    return f"{said}.{_known(known_pct)}"


def share_words(share_pct: float) -> str:
    """Return a share in words, never rounded to none or all."""
    if share_pct <= 0.0:
        return "none"
    if share_pct < 1.0:
        return "under 1 %"
    if share_pct >= 100.0:
        return "all"
    return "over 99 %" if share_pct > 99.0 else f"{share_pct:.0f} %"


def sun_words(*, hours: float, measured: str, tagged: str, known_pct: float | None) -> str:
    """Return how much sun a zone has, with its class as measured and as told by eye.

    Parameters
    ----------
    hours
        Hours of direct sun a day [h].
    measured, tagged
        Classes in words; empty if there is none.
    known_pct
        Share of the zone that this is of [%].
    """
    said = f"{hours:.1f} hours of direct sun a day"
    if measured:
        said += f": {measured}"
    if tagged:
        beside = "as it is tagged" if tagged == measured else f"but tagged {tagged}"
        said += f", {beside}"
    return f"{said}.{_known(known_pct)}"


def _known(known_pct: float | None) -> str:
    if known_pct is None or known_pct >= ALL_OF_IT_PCT:
        return ""
    return f" Known of {share_words(known_pct)} of the zone."


def from_words(raster: str | None, taken: date | None, resolution_m: float | None) -> str:
    """Return where a figure comes from; a figure that somebody typed in comes from no raster."""
    if not raster:
        return "Not known what it was measured on."
    day = "date not known" if taken is None else f"taken {day_words(taken)}"
    cells = "" if resolution_m is None else f", cells of {metres(resolution_m)}"
    return f"From {raster}, {day}{cells}."


def class_words(measure: str, start: float, end: float | None, meaning: str) -> str:
    """Return what a key says of a class.

    Parameters
    ----------
    measure
        ``slope`` [%] or ``sun`` [hours a day].
    start, end
        Where it begins and ends; None: it has no end.
    meaning
        What it means; empty if there is no more to say.
    """
    figures = _slope_range(start, end) if measure == "slope" else _hour_range(start, end)
    return f"{figures}: {meaning}" if meaning else figures


def _slope_range(start: float, end: float | None) -> str:
    if end is None:
        return f"over {start:.0f} % ({degrees(start)})"
    if start == 0.0:
        return f"under {end:.0f} % ({degrees(end)})"
    return f"{start:.0f} to {end:.0f} % ({degrees(start)} to {degrees(end)})"


def _hour_range(start: float, end: float | None) -> str:
    if end is None:
        return f"{start:g} h a day or more"
    return f"under {end:g} h a day" if start == 0.0 else f"{start:g} to {end:g} h a day"
