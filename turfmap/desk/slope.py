"""How steep each zone is, from a raster of heights; and its area less what is too steep."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from turfmap.desk.area import measured
from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.kept_measures import keep_slopes
from turfmap.desk.own_rows import own_table
from turfmap.desk.place import Place, read_place
from turfmap.desk.protected import Overrides, few
from turfmap.desk.slope_overlays import slope_overlays
from turfmap.foundations import plane
from turfmap.foundations.definitions import Row
from turfmap.foundations.errors import input_fault
from turfmap.foundations.grid import VERTICAL_UNITS, Grid, grid_over
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes, shape_array
from turfmap.foundations.units import square_feet
from turfmap.ground.slope import SlopeSums, horn_slope, less_steep
from turfmap.ground.treatable import Treatable
from turfmap.store.raster_shapes import outlines
from turfmap.store.raster_windows import Raster
from turfmap.views.map_overlays import MapOverlay

# Heights are read this many cells at a time each way, so that memory does not grow with a zone.
BLOCK_CELLS = 1_022
# A bank narrower than a cell is not seen; cells larger than this are worth a word.
COARSE_CELL_M = 5.0
METHOD = "Horn 1981, 3 by 3 cells"
# Lawns are not like this on average: more likely feet were taken for metres.
ODDLY_STEEP_PCT = 100.0


@dataclass(frozen=True)
class SlopeAsked:
    """What raster to take slopes from, and how.

    Attributes
    ----------
    heights
        A raster of the bare ground's heights.
    vertical_unit
        What its heights are in, one of `VERTICAL_UNITS`; nothing in a file says so for sure.
    resampling
        How heights are moved onto the plane, one of `turfmap.foundations.grid.RESAMPLING`.
    too_steep_pct
        Steeper ground is taken out of the treatable [%]; None takes none.
    taken
        The day of the heights; None: as the file says.
    """

    heights: Path
    vertical_unit: str
    resampling: str = "bilinear"
    too_steep_pct: float | None = None
    taken: date | None = None


def area_with_slope(
    path: Path,
    *,
    property_name: str | None,
    product: str | None,
    overrides: Overrides,
    asked: SlopeAsked,
) -> dict[str, Any]:
    """Measure zones as `desk.area.area`, and how steep they are.

    Returns
    -------
    dict
        As `desk.area.area`; each zone also has ``slope`` (mean, steepest, share above each limit,
        how much of it is known), ``surface_m2`` and, if asked for, ``too_steep_m2``, which is then
        taken out of ``treatable_m2``. ``slope`` says what raster and rules were used.

    Raises
    ------
    InputFaultsError
        If the raster cannot be used, or reaches none of the zones.
    """
    place = read_place(path, property_name=property_name, product=product, overrides=overrides)
    return slopes_of(path, place, measured(place), asked)


def area_and_keep(
    path: Path,
    *,
    property_name: str | None,
    product: str | None,
    overrides: Overrides,
    asked: SlopeAsked,
) -> dict[str, Any]:
    """Measure as `area_with_slope`, and keep slopes and their pictures in the place.

    Returns
    -------
    dict
        As `area_with_slope`; ``kept`` says how many zones have a slope now.

    Raises
    ------
    InputFaultsError
        As `area_with_slope`, or if the place may not be written; then nothing has been.
    """
    place = read_place(path, property_name=property_name, product=product, overrides=overrides)
    result = slopes_of(path, place, measured(place), asked)
    return result | {"kept": keep_slopes(path, result, pictures_of(place, asked))}


def pictures_of(place: Place, asked: SlopeAsked) -> list[MapOverlay]:
    """Return pictures of steepness and relief of each property that the raster reaches.

    Raises
    ------
    InputFaultsError
        If the raster cannot be used.
    """
    return slope_overlays(
        place,
        opened_heights(asked),
        vertical_unit=asked.vertical_unit,
        resampling=asked.resampling,
        taken=asked.taken,
    )


def opened_heights(asked: SlopeAsked) -> Raster:
    """Open the raster that slopes are asked from, and see that its unit may be true.

    Raises
    ------
    InputFaultsError
        If it cannot be used.
    """
    raster = Raster(asked.heights, record="--with-slope")
    raster.see_unit(asked.vertical_unit)
    return raster


def slopes_of(
    path: Path, place: Place, areas: tuple[dict[str, Any], Treatable], asked: SlopeAsked
) -> dict[str, Any]:
    """Add slopes to what was measured of a place; see `area_with_slope`."""
    result, found = areas
    raster = opened_heights(asked)
    limits = list(own_table(path, "slope_limit").rows)
    work = _Slopes(place, found, raster, asked, limits)
    for index, zone in enumerate(result["zones"]):
        zone.update(work.zone(index, zone))
    if result["zones"] and not any(zone["slope"]["known_share"] for zone in result["zones"]):
        raise input_fault(
            "it has no heights under any of the zones",
            "give a raster that covers them",
            file=str(asked.heights),
            record="--with-slope",
        )
    result["slope"] = work.about()
    result["cautions"] += _cautions(result, asked)
    return result


class _Slopes:
    """The zones of a place on one raster of heights."""

    def __init__(
        self, place: Place, found: Treatable, raster: Raster, asked: SlopeAsked, limits: list[Row]
    ) -> None:
        self._found, self._raster, self._asked, self._limits = found, raster, asked, limits
        shapes = shapes_of(place.zones)
        shapes = plane.along_geodesics(shapes, plane.bounds(shapes))
        self._flat = plane.laid_flat(shapes, found.origin)
        self._cell_m: dict[tuple[float, float], float] = {}

    def zone(self, index: int, area: Mapping[str, Any]) -> dict[str, Any]:
        """Return what is added to one zone's row."""
        flat, origin = self._flat[index], self._found.origin[index]
        pcts = [*(float(limit["slope_pct"]) for limit in self._limits), self._over_pct()]
        sums = SlopeSums(np.array(pcts) / 100.0)
        steep: list[shapely.Geometry] = []
        if flat is not None and not shapely.is_empty(flat):
            grid = grid_over(shapely.bounds(flat), cell_m=self._cell(origin), origin=origin)
            for block in grid.blocks(BLOCK_CELLS):
                steep += self._block(flat, block, sums)
        figures = sums.found(area["gross_m2"])
        surface_m2 = figures.pop("surface_m2")
        *shares, over = sums.shares_above()
        above = zip(self._limits, shares, strict=True)
        slope = figures | {
            "above": [
                {"limit": limit["limit"], "limit_pct": limit["slope_pct"], "share": share}
                for limit, share in above
            ],
            "over": {"limit_pct": self._over_pct(), "share": over},
        }
        row = {
            "slope": slope,
            "surface_m2": surface_m2,
            "surface_sqft": None if surface_m2 is None else square_feet(surface_m2),
        }
        return row if self._asked.too_steep_pct is None else row | self._less(index, steep, area)

    def _over_pct(self) -> float:
        """Return the limit that a zone's kept share is above: the one asked for, or the lowest."""
        if self._asked.too_steep_pct is not None:
            return self._asked.too_steep_pct
        return min(float(limit["slope_pct"]) for limit in self._limits)

    def _cell(self, origin: Floats) -> float:
        lon, lat = float(origin[0]), float(origin[1])
        if (lon, lat) not in self._cell_m:
            self._cell_m[lon, lat] = self._raster.cell_m(lon, lat)
        return self._cell_m[lon, lat]

    def _block(
        self, flat: shapely.Geometry, block: Grid, sums: SlopeSums
    ) -> list[shapely.Geometry]:
        """Add one block of a zone to its sums; return the outlines of what is too steep."""
        asked = self._asked
        (heights,) = self._raster.read(block.wider(1), [1], method=asked.resampling)
        heights *= np.float32(VERTICAL_UNITS[asked.vertical_unit])
        steepness = horn_slope(heights, block.cell_m)
        sums.add(flat, block, steepness)
        if asked.too_steep_pct is None:
            return []
        # Ground of unknown slope is not reckoned as gentle.
        steep = ~(steepness <= asked.too_steep_pct / 100.0)
        return list(outlines(steep.astype(np.uint8), block)[0])

    def _less(
        self, index: int, steep: list[shapely.Geometry], area: Mapping[str, Any]
    ) -> dict[str, float]:
        """Return the treatable ground of a zone without what is too steep."""
        flat: Shapes = self._found.flat[index : index + 1]
        left = less_steep(flat, shape_array([shapely.union_all(shape_array(steep))]))
        whole, part = np.nan_to_num(shapely.area(flat[0])), np.nan_to_num(shapely.area(left[0]))
        share = min(float(part / whole), 1.0) if whole else 0.0
        treatable_m2 = area["treatable_m2"] * share
        too_steep_m2 = area["treatable_m2"] - treatable_m2
        return {
            "too_steep_m2": too_steep_m2,
            "too_steep_sqft": square_feet(too_steep_m2),
            "treatable_m2": treatable_m2,
            "treatable_sqft": square_feet(treatable_m2),
        }

    def _taken(self) -> str | None:
        asked = self._asked.taken
        return self._raster.taken if asked is None else asked.isoformat()

    def about(self) -> dict[str, Any]:
        """Return which raster and which rules were used."""
        return {
            "raster": self._raster.name,
            "taken": self._taken(),
            "cell_m": max(self._cell_m.values(), default=None),
            "method": METHOD,
            "resampling": self._asked.resampling,
            "vertical_unit": self._asked.vertical_unit,
            "too_steep_pct": self._asked.too_steep_pct,
            "limits": [
                {key: limit[key] for key in ("limit", "words", "slope_pct", "source", "how_read")}
                for limit in self._limits
            ],
        }


def _cautions(result: Mapping[str, Any], asked: SlopeAsked) -> list[str]:
    zones, about = result["zones"], result["slope"]
    said = [
        "Slopes are those of the raster: a surface raster's hold roofs and crowns, and ground moved"
        " since it was taken is not in it."
    ]
    if about["taken"] is None:
        said.append(f"When {about['raster']} was taken is not known: give --raster-date if you do.")
    partly = [_name(zone) for zone in zones if zone["slope"]["known_share"] < 0.999]
    if partly:
        loss = " What is not known was taken out as too steep." if asked.too_steep_pct else ""
        said.append(f"The raster has no heights under all or part of {few(partly)}.{loss}")
    if about["cell_m"] and about["cell_m"] > COARSE_CELL_M:
        said.append(
            f"Its cells are {about['cell_m']:,.0f} m wide: a bank or ditch narrower than two of"
            " them is not seen, and slopes come out too gentle."
        )
    odd = [_name(zone) for zone in zones if (zone["slope"]["mean_pct"] or 0.0) > ODDLY_STEEP_PCT]
    if odd:
        said.append(f"Oddly steep: {few(odd)}. See whether --vertical-unit is right.")
    return said


def _name(zone: Mapping[str, Any]) -> str:
    return f"{zone['property']} / {zone['zone']}"
