"""What was measured of zones, written into their columns, and its pictures beside them.

All of it is one change of the place, which undo takes back.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import shapely

from turfmap.desk.overlays import LAYER, overlay_row
from turfmap.foundations.dates import day_words
from turfmap.foundations.definitions import Row, map_layer
from turfmap.foundations.errors import input_fault
from turfmap.store import feature_rows, geopackage, near_rows
from turfmap.views.map_overlays import MapOverlay


def keep_slopes(path: Path, result: Mapping[str, Any], pictures: Sequence[MapOverlay]) -> int:
    """Write slopes that `desk.slope` measured into the zones' columns.

    Returns
    -------
    int
        How many zones have one now. A zone without heights keeps what it had.

    Raises
    ------
    InputFaultsError
        If a zone has gone meanwhile or may not be written; nothing has been written.
    """
    about = result["slope"]
    said = f"{about['method']}; {about['resampling']}; heights in {about['vertical_unit']}"
    of_all = {
        "slope_raster": about["raster"],
        "slope_raster_date": about["taken"],
        "slope_resolution_m": rounded(about["cell_m"]),
        "slope_method": said,
    }
    columns = {
        zone["id"]: of_all
        | {
            "slope_mean_pct": rounded(zone["slope"]["mean_pct"]),
            "slope_max_pct": rounded(zone["slope"]["steepest_pct"]),
            "slope_over_pct": _per_cent(zone["slope"]["over"]["share"]),
            "slope_limit_pct": rounded(zone["slope"]["over"]["limit_pct"]),
            "slope_known_pct": _per_cent(zone["slope"]["known_share"]),
            "surface_m2": rounded(zone["surface_m2"]),
        }
        for zone in result["zones"]
        if zone["slope"]["known_share"]
    }
    return _keep(path, columns, pictures, who="area")


def keep_hours(path: Path, result: Mapping[str, Any], pictures: Sequence[MapOverlay] = ()) -> int:
    """Write hours that `desk.sun` reckoned into the zones' columns; see `keep_slopes`.

    What is typed under ``shade`` stays as it is.
    """
    about = result["about"]
    of_all = {
        "sun_raster": sun_raster(about),
        "sun_raster_date": about["taken"],
        "sun_resolution_m": rounded(about["cell_m"]),
        "sun_method": sun_method(about),
    }
    columns = {
        row["id"]: of_all
        | {
            "sun_hours": rounded(row["sun_hours"]),
            "sun_known_pct": _per_cent(row["known_share"]),
            "shade_measured": row["shade_measured"],
        }
        for row in result["zones"]
        if row["sun_hours"] is not None
    }
    return _keep(path, columns, pictures, who="sun")


def sun_raster(about: Mapping[str, Any]) -> str:
    """Return the names of the rasters that the sun was followed over."""
    return " and ".join(about[one]["raster"] for one in ("surface", "ground") if one in about)


def sun_method(about: Mapping[str, Any]) -> str:
    """Return in words how hours were reckoned."""
    first, last = (day_words(date.fromisoformat(about[one])) for one in ("from", "to"))
    every = about["every_days"]
    days = "every day" if every == 1 else f"one day in {every}"
    return (
        f"Direct sun under a clear sky, {first} to {last}, {days}, steps of"
        f" {about['step_minutes']:g} min; {about['resampling']}; heights in"
        f" {about['vertical_unit']}"
    )


def rounded(value: float | None) -> float | None:
    """Return a figure as it is kept: to a hundredth."""
    return None if value is None else round(float(value), 2)


def _per_cent(share: float | None) -> float | None:
    return None if share is None else min(max(round(100.0 * share, 2), 0.0), 100.0)


def _keep(
    path: Path, columns: Mapping[str, Row], pictures: Sequence[MapOverlay], *, who: str
) -> int:
    zone, overlay = map_layer("zone"), map_layer(LAYER)
    with geopackage.editing(path, who=who) as connection:
        for identity, measured in columns.items():
            stands = feature_rows.row_of(connection, zone, identity, file=str(path))
            if stands is None:
                raise input_fault(
                    "a zone could not be given what was measured: it has gone meanwhile",
                    "measure again",
                    file=str(path),
                )
            values = stands.values[0] | measured
            feature_rows.replace(connection, zone, values, stands.shapes[0], fid=stands.fids[0])
        for picture in pictures:
            row, shape = overlay_row(picture), shapely.box(*picture.bounds)
            earlier = near_rows.rows_with(
                connection, LAYER, "property", [picture.property], file=str(path)
            )
            mine = earlier[earlier["measure"] == picture.measure]
            for fid in mine["fid"]:
                feature_rows.delete(connection, overlay, fid=int(fid))
            feature_rows.insert(connection, overlay, row, shape, identity=None)
    return len(columns)
