"""How much sun each zone has over a season, by heights; and which grasses that is enough for."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from turfmap.desk.edit_faults import RefusedError
from turfmap.desk.edits import NotThereError, apply_edits
from turfmap.desk.own_rows import own_table
from turfmap.desk.place import LON_LAT, NO_PROPERTY, shapes_of, with_property
from turfmap.desk.protected import few
from turfmap.desk.sun_scene import Rasters, Standing, opened, scenes
from turfmap.desk.sun_verdict import Verdicts
from turfmap.foundations import plane
from turfmap.foundations.dates import month_day
from turfmap.foundations.errors import input_fault
from turfmap.foundations.grid import Grid, grid_over
from turfmap.foundations.shapes import Shapes, is_area, is_present, repaired
from turfmap.ground.coverage import coverage
from turfmap.ground.sun import SunDay, season_days, sun_hours, sun_positions
from turfmap.store import geopackage
from turfmap.store.geojson import write_geojson

# What stands further off than this casts no shadow here: 30 m of tree at 7 degrees of sun.
REACH_M = 250.0
# More cells are not kept at once; a larger property is reckoned on larger cells, and told so.
MOST_CELLS = 6_000_000
FINEST_CELL_M = 0.5
# More of a scene without heights than this is told.
MOST_UNKNOWN = 0.02
LONGEST_SEASON_DAYS = 366
DRAWN = ("obstacle", "canopy")
# Ground that no grass is asked to grow on.
NOT_ASKED = ("hard", "water")


@dataclass(frozen=True)
class Season:
    """The days whose sun is reckoned.

    Attributes
    ----------
    first, last
        Both of them in it.
    step_minutes
        How long a step of a day is [min].
    every_days
        How many days one reckoned day stands for.
    """

    first: date
    last: date
    step_minutes: float = 15.0
    every_days: int = 7

    def faults(self) -> None:
        """See that it is a season.

        Raises
        ------
        InputFaultsError
            If it ends before it begins, or is longer than a year.
        """
        length = (self.last - self.first).days + 1
        if not 1 <= length <= LONGEST_SEASON_DAYS:
            raise input_fault(
                f"{self.first} to {self.last} is no season of 1 to {LONGEST_SEASON_DAYS} days",
                "give its first day and then its last",
                record="--to",
            )


@dataclass(frozen=True)
class SunAsked:
    """The rasters that were given, and how to read them."""

    surface: Path | None
    ground: Path | None
    vertical_unit: str
    resampling: str = "bilinear"


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
    season.faults()
    rasters = opened(
        asked.surface,
        asked.ground,
        vertical_unit=asked.vertical_unit,
        resampling=asked.resampling,
    )
    zones = _zones(path, property_name)
    standing = _standing(path)
    work = _Reckoning(rasters, standing, season, _bare_season(path))
    figures = pd.concat([work.property(part) for _, part in zones.groupby("property", sort=False)])
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
    about = work.about() | {"scheme": verdicts.scheme()}
    return {"zones": rows, "about": about, "cautions": cautions, "out": out and str(out)}


def keep_hours(path: Path, result: Mapping[str, Any]) -> int:
    """Write the hours that `sun` reckoned into the zones' column ``sun_hours``.

    One change of the place, which undo takes back. What is typed under ``shade`` stays as it is.

    Returns
    -------
    int
        How many zones have hours now.

    Raises
    ------
    InputFaultsError
        If a zone has gone meanwhile or may not be written; nothing has been written.
    """
    edits = [
        {
            "layer": "zone",
            "op": "merge",
            "id": row["id"],
            "feature": {"properties": {"sun_hours": round(row["sun_hours"], 2)}},
        }
        for row in result["zones"]
        if row["sun_hours"] is not None
    ]
    try:
        apply_edits(path, edits, who="sun", keep_overlaps=True)
    except (NotThereError, RefusedError):
        raise input_fault(
            "a zone could not be given its hours: it has gone, or its row is not as it may be",
            "look at it with turfmap inspect, and reckon again",
            file=str(path),
        ) from None
    return len(edits)


def _zones(path: Path, property_name: str | None) -> gpd.GeoDataFrame:
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
    return zones.reset_index(drop=True)


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


class _Reckoning:
    """Hours of sun, property by property."""

    def __init__(
        self, rasters: Rasters, standing: Standing, season: Season, bare: dict[str, Any]
    ) -> None:
        self._rasters, self._standing = rasters, standing
        self._season, self._bare = season, bare
        self._cells_m: set[float] = set()
        self.said: list[str] = []

    def property(self, zones: gpd.GeoDataFrame) -> pd.DataFrame:
        """Return the figures of one property's zones, by the index of their frame."""
        shapes = shapes_of(zones)
        (origin,) = plane.origins(np.array([zones.total_bounds]))
        flat = plane.laid_flat(shapes, np.broadcast_to(origin, (shapes.size, 2)))
        grid = self._grid(flat, origin, str(zones["property"].iloc[0]))
        unknown = ~np.isfinite(self._receiver(grid))
        if unknown.all():
            hours = np.full(unknown.shape, np.nan, dtype=np.float32)
        else:
            hours = self._hours(zones, grid)
            hours[unknown] = np.nan
        return _figures(self._open(flat, grid), grid, hours).set_index(zones.index)

    def _hours(self, zones: gpd.GeoDataFrame, grid: Grid) -> NDArray[np.float32]:
        in_leaf, bare = scenes(self._rasters, self._standing, grid)
        if in_leaf.unknown_share > MOST_UNKNOWN:
            self.said.append(
                f"The raster ends near {zones['property'].iloc[0]}: what stands beyond it casts no"
                " shadow here, so hours may come out too long."
            )
        return sun_hours(in_leaf, bare, self._days(zones.total_bounds))

    def _receiver(self, grid: Grid) -> NDArray[np.float32]:
        raster = self._rasters.ground or self._rasters.surface
        assert raster is not None  # noqa: S101  (`opened` saw to it)
        return self._rasters.read(raster, grid)

    def _grid(self, flat: Shapes, origin: NDArray[np.float64], name: str) -> Grid:
        box = shapely.total_bounds(flat)
        finest_m = max(self._rasters.cell_m(float(origin[0]), float(origin[1])), FINEST_CELL_M)
        sides_m = box[2:] - box[:2] + 2.0 * REACH_M
        cell_m = max(finest_m, float(np.sqrt(sides_m.prod() / MOST_CELLS)))
        if cell_m > finest_m:
            self.said.append(
                f"{name} is large: its sun was reckoned on cells of {cell_m:.1f} m, not"
                f" {finest_m:.1f} m. Reckon it in parts for finer shadows."
            )
        self._cells_m.add(cell_m)
        return grid_over(box, cell_m=cell_m, origin=origin, reach_m=REACH_M)

    def _days(self, box: NDArray[np.float64]) -> list[SunDay]:
        longitude, latitude = (box[:2] + box[2:]) / 2.0
        step_h = self._season.step_minutes / 60.0
        days = []
        for day, count in season_days(
            self._season.first, self._season.last, self._season.every_days
        ):
            azimuth, elevation = sun_positions(
                day, longitude=longitude, latitude=latitude, step_h=step_h
            )
            share = self._bare["bare_share"] if _is_bare(day, self._bare) else 0.0
            days.append(SunDay(day, count, azimuth, elevation, step_h, share))
        return days

    def _open(self, flat: Shapes, grid: Grid) -> Shapes:
        """Return zones without the buildings in them: a roof's sun is not the lawn's."""
        shapes = shapes_of(self._standing.frame)
        roofs = shapes[~self._standing.is_crown & is_area(shapes)]
        origin = np.broadcast_to(np.array([grid.lon, grid.lat]), (roofs.size, 2))
        on_plane = plane.laid_flat(roofs, origin)
        near = on_plane[shapely.intersects(on_plane, shapely.box(*grid.bounds_m))]
        left: Shapes = shapely.difference(flat, shapely.union_all(near))
        return left

    def about(self) -> dict[str, Any]:
        """Return which rasters, which season and which rules were used."""
        rasters = {
            name: {"raster": one.name, "taken": one.taken}
            for name, one in (("surface", self._rasters.surface), ("ground", self._rasters.ground))
            if one is not None
        }
        season = self._season
        return rasters | {
            "vertical_unit": self._rasters.vertical_unit,
            "resampling": self._rasters.resampling,
            "cell_m": max(self._cells_m),
            "from": season.first.isoformat(),
            "to": season.last.isoformat(),
            "step_minutes": season.step_minutes,
            "every_days": season.every_days,
            "sun_above_deg": 0.0,
            "reach_m": REACH_M,
            "bare_crowns": {
                key: self._bare[key]
                for key in ("bare_share", "bare_from", "bare_to", "source", "how_read")
            },
        }


def _is_bare(day: date, bare: dict[str, Any]) -> bool:
    today, first, last = (
        (day.month, day.day),
        month_day(bare["bare_from"]),
        month_day(bare["bare_to"]),
    )
    return first <= today <= last if first <= last else today >= first or today <= last


def _figures(flat: Shapes, grid: Grid, hours: NDArray[np.float32]) -> pd.DataFrame:
    """Return hours and the known share of each shape, and its cells for what is asked later."""
    found = coverage(flat, grid)
    of_cell = hours.reshape(-1)[found.cell].astype(float)
    known = np.isfinite(of_cell)
    count = flat.size
    covered = np.bincount(found.shape, found.share, count)
    seen = np.bincount(found.shape[known], found.share[known], count)
    total = np.bincount(found.shape[known], (found.share * of_cell)[known], count)
    with np.errstate(invalid="ignore"):
        mean, share = total / seen, np.nan_to_num(seen / covered)
    samples: Sequence[Any] = [
        np.column_stack([of_cell[at], found.share[at]])
        for at in (np.flatnonzero((found.shape == index) & known) for index in range(count))
    ]
    return pd.DataFrame(
        {"hours": mean, "known_share": np.minimum(share, 1.0), "samples": pd.Series(samples)}
    )


def _unknown(rows: Sequence[dict[str, Any]]) -> list[str]:
    partly = [f"{row['property']} / {row['zone']}" for row in rows if row["known_share"] < 0.999]
    if not partly:
        return []
    return [f"No heights are known under all or part of {few(partly)}; hours are of the rest."]


def _of_surface(rasters: Rasters, standing: Standing) -> list[str]:
    said = [
        "Hours are of a clear sky; cloud takes its part everywhere alike. What stands more than"
        f" {REACH_M:.0f} m from a property, and hills beyond the raster, cast no shadow here.",
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
