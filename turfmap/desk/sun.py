"""How much sun each zone has over a season, by heights; and which grasses that is enough for."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd

from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.kept_measures import keep_hours
from turfmap.desk.overlays import grounds_of
from turfmap.desk.own_rows import own_table
from turfmap.desk.place import LON_LAT, NO_PROPERTY, with_property
from turfmap.desk.protected import few
from turfmap.desk.sun_overlays import sun_overlays
from turfmap.desk.sun_reckoning import REACH_M, Reckoning, Season
from turfmap.desk.sun_scene import Rasters, Standing, opened
from turfmap.desk.sun_verdict import Verdicts
from turfmap.foundations.errors import input_fault
from turfmap.foundations.shapes import is_present, repaired
from turfmap.store import geopackage
from turfmap.store.geojson import write_geojson
from turfmap.views.map_overlays import MapOverlay

DRAWN = ("obstacle", "canopy")
# Ground that no grass is asked to grow on.
NOT_ASKED = ("hard", "water")


@dataclass(frozen=True)
class SunAsked:
    """The rasters that were given, how to read them, and the day of their heights if told."""

    surface: Path | None
    ground: Path | None
    vertical_unit: str
    resampling: str = "bilinear"
    taken: date | None = None


def sun(
    path: Path,
    *,
    property_name: str | None,
    asked: SunAsked,
    season: Season,
    out: Path | None = None,
) -> dict[str, Any]:
    """Reckon the hours of direct sun of the zones of a place, or of one of its properties.

    Returns
    -------
    dict
        ``zones`` (property, zone, kind, hours, class, what is tagged, need of the grass, others
        that would live there), ``about`` (rasters, season, rules) and ``cautions``.

    Raises
    ------
    InputFaultsError
        If the rasters or the season cannot be used, or no zone lies on the rasters.
    """
    return _reckoned(path, property_name, asked, season, out)[0]


def sun_and_keep(
    path: Path,
    *,
    property_name: str | None,
    asked: SunAsked,
    season: Season,
    out: Path | None = None,
) -> dict[str, Any]:
    """Reckon as `sun`, and keep hours and their pictures in the place.

    Returns
    -------
    dict
        As `sun`; ``kept`` says how many zones have hours now.

    Raises
    ------
    InputFaultsError
        As `sun`, or if the place may not be written; then nothing of it has been.
    """
    result, pictures = _reckoned(path, property_name, asked, season, out)
    return result | {"kept": keep_hours(path, result, pictures)}


def _reckoned(
    path: Path, property_name: str | None, asked: SunAsked, season: Season, out: Path | None
) -> tuple[dict[str, Any], list[MapOverlay]]:
    season.faults()
    rasters = opened(
        asked.surface,
        asked.ground,
        vertical_unit=asked.vertical_unit,
        resampling=asked.resampling,
    )
    zones, properties = _zones(path, property_name)
    standing = _standing(path)
    work = Reckoning(rasters, standing, season, _bare_season(path))
    figures = work.figures(zones)
    verdicts = Verdicts(path)
    rows = [verdicts.row(one) for one in zones.join(figures).to_dict("records")]
    if not any(row["known_share"] for row in rows):
        raise input_fault(
            "it has no heights under any of the zones",
            "give a raster that covers them",
            file=str(asked.surface or asked.ground),
        )
    if out is not None:
        write_geojson(out, shapes_of(zones), rows)
    cautions = [
        *work.said,
        *standing.said_of(heights_are_needed=rasters.surface is None),
        *_of_surface(rasters, standing),
        *_unknown(rows),
        *verdicts.said(rows),
    ]
    about = work.about() | {"scheme": verdicts.scheme(), "taken": _taken(rasters, asked)}
    if about["taken"] is None:
        cautions.append("When the heights were taken is not known: give --raster-date if you do.")
    result = {"zones": rows, "about": about, "cautions": cautions, "out": out and str(out)}
    return result, sun_overlays(work.hours, grounds_of(zones, properties), about)


def _taken(rasters: Rasters, asked: SunAsked) -> str | None:
    """Return the day of what casts the shadows: the surface's, where there is one."""
    if asked.taken is not None:
        return asked.taken.isoformat()
    first = rasters.surface or rasters.ground
    return None if first is None else first.taken


def _zones(path: Path, property_name: str | None) -> tuple[gpd.GeoDataFrame, gpd.GeoDataFrame]:
    zones = geopackage.read_layer(path, "zone").to_crs(LON_LAT)
    mended, _ = repaired(shapes_of(zones))
    properties = geopackage.read_layer(path, "property").to_crs(LON_LAT)
    outlines, _ = repaired(shapes_of(properties))
    zones = zones.set_geometry(gpd.GeoSeries(mended, index=zones.index, crs=LON_LAT))
    properties = properties.set_geometry(gpd.GeoSeries(outlines, crs=LON_LAT))
    zones = with_property(zones, properties).fillna({"property": NO_PROPERTY})
    if property_name is not None:
        known = sorted(set(zones["property"]) | set(properties["name"]))
        if property_name not in known:
            raise input_fault(
                f"there is no property {property_name!r}",
                f"choose one that is there ({few(known)})",
                file=str(path),
            )
        zones = zones[zones["property"] == property_name]
    zones = zones[~zones["kind"].isin(NOT_ASKED) & is_present(shapes_of(zones))]
    if zones.empty:
        raise input_fault("there are no zones to reckon", "draw some first", file=str(path))
    return zones.reset_index(drop=True), properties


def _standing(path: Path) -> Standing:
    frames = [geopackage.read_layer(path, name).to_crs(LON_LAT) for name in DRAWN]
    columns = ["name", "kind", "height_m", "deciduous", "geometry"]
    alike = [frame.reindex(columns=columns).astype({"deciduous": object}) for frame in frames]
    is_crown = np.repeat([False, True], [len(frame) for frame in frames])
    frame = pd.concat(alike, ignore_index=True)
    mended, _ = repaired(shapes_of(frame))
    return Standing(frame.set_geometry(gpd.GeoSeries(mended, crs=LON_LAT)), is_crown)


def _bare_season(path: Path) -> dict[str, Any]:
    return own_table(path, "crown_light").by("crown")["deciduous"]


def _unknown(rows: Sequence[dict[str, Any]]) -> list[str]:
    partly = [f"{row['property']} / {row['zone']}" for row in rows if row["known_share"] < 0.999]
    if not partly:
        return []
    return [f"No heights are known under all or part of {few(partly)}; hours are of the rest."]


def _of_surface(rasters: Rasters, standing: Standing) -> list[str]:
    said = [
        "Hours are of a clear sky; cloud takes its part everywhere alike. What stands more than"
        f" {REACH_M:.0f} m from the ground reckoned, and hills beyond the raster, cast no shadow.",
        "A crown is reckoned as solid down to the ground: low sun under a high crown is not in it.",
    ]
    if rasters.surface is None:
        return said
    if rasters.ground is None:
        said.append(
            "A surface alone shows the tops of crowns: under crowns that are not drawn as canopy,"
            " hours are those of the treetops. Give --ground as well, or draw the crowns."
        )
        if standing.drops_leaves().any():
            said.append("Without --ground, crowns that drop their leaves count as never bare.")
    return said
