"""What rasters said of the ground, for the map: pictures over it, and words for each zone."""

import math
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd

from turfmap.desk.overlays import fitting, kept_overlays
from turfmap.desk.own_rows import own_table
from turfmap.desk.place import Place
from turfmap.desk.slope import SlopeAsked, pictures_of
from turfmap.foundations.definitions import table
from turfmap.views.map_overlays import MapOverlays, OverlayClass
from turfmap.views.measured_words import class_words, from_words, slope_words, sun_words

Told = dict[tuple[str, str], list[tuple[str, str]]]
# Below the first limit of the table: what is nearly level, and what a mower does not mind.
GENTLE_PCT = (0.0, 5.0, 10.0)
# Cells at an edge, and rounding: less than this is no other outline.
PLAY = 0.01
# Less sun than the lower end of this class makes ground that most grass does badly on.
NOT_HATCHED_FROM_H = 6.0


def overlays_on(
    path: Path, place: Place, asked: SlopeAsked | None
) -> tuple[MapOverlays, list[str]]:
    """Return the pictures of a map, those of a raster that was given before those that are kept.

    Parameters
    ----------
    path, place
        The place, and what of it the map shows.
    asked
        A raster for slopes; None: as kept.

    Returns
    -------
    overlays
        Pictures with the classes of their keys.
    cautions
        What was left out.
    """
    kept, said = kept_overlays(path, place.zones["property"])
    if asked is not None:
        kept = [one for one in kept if one.measure == "sun"]
        kept += pictures_of(place, asked)
    pictures, more = fitting(kept)
    if not pictures:
        return MapOverlays((), {}), [*said, *more]
    classes = {"slope": _slope_classes(path), "sun": _sun_classes(path)}
    return MapOverlays(pictures, classes), [*said, *more]


def _slope_classes(path: Path) -> list[OverlayClass]:
    limits = sorted(own_table(path, "slope_limit").rows, key=lambda row: float(row["slope_pct"]))
    starts = dict.fromkeys(GENTLE_PCT, "")
    starts |= {float(row["slope_pct"]): f"above the limit of {row['words']}" for row in limits}
    first_limit = float(limits[0]["slope_pct"]) if limits else float("inf")
    ends = [*sorted(starts)[1:], None]
    return [
        OverlayClass(start, class_words("slope", start, end, starts[start]), start >= first_limit)
        for start, end in zip(sorted(starts), ends, strict=True)
    ]


def _sun_classes(path: Path) -> list[OverlayClass]:
    rows = sorted(own_table(path, "shade").rows, key=lambda row: float(row["sun_h_from"]))
    ends = [*(float(row["sun_h_from"]) for row in rows[1:]), None]
    return [
        OverlayClass(
            float(row["sun_h_from"]),
            class_words("sun", float(row["sun_h_from"]), end, row["words"]),
            float(row["sun_h_from"]) < NOT_HATCHED_FROM_H,
        )
        for row, end in zip(rows, ends, strict=True)
    ]


def measured_words(place: Place, areas: Mapping[str, Any]) -> Told:
    """Return what is told of each zone: title and words, by property and zone.

    Slopes measured for this map (``slope`` of a zone of `areas`) come before those kept.
    """
    shades = {row["shade"]: str(row["words"]) for row in table("shade").rows}
    fresh = _fresh_slopes(areas)
    gross_m2 = {(zone["property"], zone["zone"]): zone["gross_m2"] for zone in areas["zones"]}
    told: Told = {}
    for row in place.zones.to_dict("records"):
        values = {key: None if pd.isna(row[key]) else row[key] for key in _READ}
        values |= fresh.get((row["property"], row["name"]), {})
        told[row["property"], row["name"]] = [
            *_of_slope(values, gross_m2[row["property"], row["name"]]),
            *_of_sun(values, shades),
        ]
    return told


_READ = (
    "slope_mean_pct", "slope_max_pct", "slope_over_pct", "slope_limit_pct", "slope_known_pct",
    "slope_raster", "slope_raster_date", "slope_resolution_m", "surface_m2",
    "sun_hours", "sun_known_pct", "shade", "shade_measured",
    "sun_raster", "sun_raster_date", "sun_resolution_m",
)  # fmt: skip


def _fresh_slopes(areas: Mapping[str, Any]) -> Told | dict[Any, dict[str, Any]]:
    if "slope" not in areas:
        return {}
    about = areas["slope"]
    return {
        (zone["property"], zone["zone"]): {
            "slope_mean_pct": zone["slope"]["mean_pct"],
            "slope_max_pct": zone["slope"]["steepest_pct"],
            "slope_over_pct": _per_cent(zone["slope"]["over"]["share"]),
            "slope_limit_pct": zone["slope"]["over"]["limit_pct"],
            "slope_known_pct": _per_cent(zone["slope"]["known_share"]),
            "slope_raster": about["raster"],
            "slope_raster_date": about["taken"],
            "slope_resolution_m": about["cell_m"],
            "surface_m2": zone["surface_m2"],
        }
        for zone in areas["zones"]
    }


def _per_cent(share: float | None) -> float | None:
    return None if share is None else 100.0 * share


def _of_slope(values: Mapping[str, Any], gross_m2: float) -> Iterable[tuple[str, str]]:
    if values["slope_mean_pct"] is None:
        return []
    said = slope_words(
        mean_pct=values["slope_mean_pct"],
        most_pct=values["slope_max_pct"],
        over_pct=values["slope_over_pct"],
        limit_pct=values["slope_limit_pct"],
        known_pct=values["slope_known_pct"],
    )
    moved = " The zone's edge has been moved since: measure again." * _is_of_another_outline(
        values, gross_m2
    )
    return [("Slope", f"{said} {_source(values, 'slope')}{moved}")]


def _is_of_another_outline(values: Mapping[str, Any], gross_m2: float) -> bool:
    """Tell whether a zone's surface cannot be that of its outline as it is drawn now.

    No surface is smaller than its plan, or larger than if all of it were as steep as the steepest.
    """
    if values["surface_m2"] is None or values["slope_max_pct"] is None:
        return False
    most = math.hypot(1.0, values["slope_max_pct"] / 100.0)
    share = values["surface_m2"] / gross_m2 if gross_m2 else math.inf
    return not 1.0 - PLAY <= share <= most + PLAY


def _of_sun(values: Mapping[str, Any], shades: Mapping[str, str]) -> Sequence[tuple[str, str]]:
    if values["sun_hours"] is None:
        return []
    said = sun_words(
        hours=values["sun_hours"],
        measured=shades.get(str(values["shade_measured"]), ""),
        tagged=shades.get(str(values["shade"]), ""),
        known_pct=values["sun_known_pct"],
    )
    return [("Sun", f"{said} {_source(values, 'sun')}")]


def _source(values: Mapping[str, Any], measure: str) -> str:
    day = values[f"{measure}_raster_date"]
    return from_words(
        values[f"{measure}_raster"],
        date.fromisoformat(day) if isinstance(day, str) and day else None,
        values[f"{measure}_resolution_m"],
    )
