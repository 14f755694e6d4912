"""``turfmap area``."""

import datetime
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from turfmap.desk.area import area, totals
from turfmap.desk.slope import SlopeAsked, area_and_keep, area_with_slope
from turfmap.doors.cli import engine_options, options, raster_options, screen
from turfmap.foundations.dates import day_words
from turfmap.foundations.units import acres, distance_words, square_feet


@click.command("area")
@options.place_file
@options.only_property
@options.setback_options
@raster_options.heights("--with-slope", "Heights of the bare ground, for the slope of each zone.")
@click.option(
    "--too-steep",
    metavar="PERCENT",
    help="Take ground steeper than this out of the treatable: 20%.",
)
@click.option(
    "--keep",
    is_flag=True,
    help="Keep slopes in the zones' columns, and pictures for the map; undo takes it back.",
)
@engine_options.engine_options
@options.as_json
def command(
    place: Path,
    property_name: str | None,
    product: str | None,
    with_slope: Path | None,
    too_steep: str | None,
    keep: bool,
    as_json: bool,
    **given: Any,
) -> None:
    """Measure zones: all of each, what obstacles and no-spray ground take, what may be treated.

    Reads the place, and heights with --with-slope. Writes nothing, but with --keep the place.

    \b
    Examples:
      turfmap area demo.gpkg
      turfmap area demo.gpkg --property "Larkspur Hollow" --setback pond=25ft --margin 0ft --json
      turfmap area demo.gpkg --with-slope ground.tif --vertical-unit ft --too-steep 20%
      turfmap area demo.gpkg --with-slope ground.tif --vertical-unit m --keep
      turfmap area demo.gpkg --engine dask --workers 4 --json
    """
    asked: dict[str, Any] = {
        "property_name": property_name,
        "product": product,
        "overrides": options.overrides(given),
    }
    slope = _slope(with_slope, too_steep, {**given, "keep": keep or None})
    with engine_options.engine(given) as engine:
        result = (
            area(place, **asked, engine=engine)
            if slope is None
            else (area_and_keep if keep else area_with_slope)(place, **asked, asked=slope)
        )
    screen.print_json(result) if as_json else _print(result)


def _slope(
    heights: Path | None, too_steep: str | None, given: Mapping[str, Any]
) -> SlopeAsked | None:
    if heights is None:
        raster_options.refuse_without_raster(
            {**given, "too_steep": too_steep},
            "--with-slope",
            ("too_steep", "vertical_unit", "raster_date", "keep"),
        )
        return None
    return SlopeAsked(
        heights,
        raster_options.vertical_unit(given),
        given["resampling"],
        None if too_steep is None else raster_options.percent(too_steep, record="--too-steep"),
        given["raster_date"],
    )


def _print(result: Mapping[str, Any]) -> None:
    rows = [
        (
            zone["property"],
            zone["zone"],
            zone["kind"],
            *_numbers(zone),
            "; ".join(_cause(cause) for cause in zone["causes"]),
        )
        for zone in result["zones"]
    ]
    rows.append(("Total", "", "", *_numbers(totals(dict(result))), ""))
    screen.print_table("Areas in square feet", _HEADINGS, rows, numbers=range(3, 9))
    if "slope" in result:
        _print_slopes(result)
    screen.print_lines(_distances(result["setbacks"]), heading="Distances used")
    screen.print_lines(result["cautions"], heading="Caution")
    if "kept" in result:
        click.echo(
            f"Kept in the place: slopes (zones: {result['kept']:,}), and pictures of them for"
            " turfmap map."
        )


def _print_slopes(result: Mapping[str, Any]) -> None:
    about = result["slope"]
    limits = [f"Over {limit['slope_pct']:.0f} %: {limit['words']}" for limit in about["limits"]]
    headings = [
        "Property",
        "Zone",
        "Mean",
        "Steepest",
        *limits,
        "Surface, sq ft",
        "Too steep, sq ft",
    ]
    rows = [
        (
            zone["property"],
            zone["zone"],
            raster_options.per_cent(zone["slope"]["mean_pct"]),
            raster_options.per_cent(zone["slope"]["steepest_pct"]),
            *(raster_options.per_cent(one["share"], of=100.0) for one in zone["slope"]["above"]),
            "not known" if zone["surface_sqft"] is None else f"{zone['surface_sqft']:,.0f}",
            f"{zone['too_steep_sqft']:,.0f}" if "too_steep_sqft" in zone else "",
        )
        for zone in result["zones"]
    ]
    cells = f"cells of {about['cell_m']:,.2g} m, {about['resampling']}, {about['method']}"
    day = about["taken"] and day_words(datetime.date.fromisoformat(about["taken"]))
    taken = f"taken {day}" if day else "date not known"
    title = f"Slopes, rise over run, from {about['raster']}, {taken} ({cells})"
    screen.print_table(title, headings, rows, numbers=range(2, 6 + len(limits)))


SMALLEST_TOLD_M2 = 0.05
_HEADINGS = (
    "Property",
    "Zone",
    "Kind",
    "All",
    "Obstacles",
    "Drawn twice",
    "No-spray",
    "Treatable",
    "Acres",
    "No-spray because of",
)


def _numbers(areas: Mapping[str, Any]) -> list[str]:
    """Return the columns of numbers of a zone or of the sum of all."""
    parts_m2 = (
        areas["gross_m2"],
        areas["obstacle_m2"] - areas["shared_m2"],
        areas["shared_m2"],
        areas["no_spray_m2"],
        areas["treatable_m2"],
    )
    in_sqft = [f"{square_feet(max(part_m2, 0.0)):,.0f}" for part_m2 in parts_m2]
    return [*in_sqft, f"{acres(areas['treatable_m2']):,.2f}"]


def _cause(cause: Mapping[str, Any]) -> str:
    kept_m = cause["distance_m"] + cause["margin_m"] + cause["half_width_m"]
    taken = f"takes {square_feet(cause['lost_m2']):,.0f}"
    if cause["lost_m2"] < SMALLEST_TOLD_M2:
        taken = "all of it taken already"
    return f"{cause['name']} ({distance_words(kept_m)}, {taken})"


def _distances(used: Sequence[Mapping[str, Any]]) -> list[str]:
    return [
        f"{one['category'].replace('_', ' ')}: {distance_words(one['distance_m'])}"
        f" plus the edge's own margin ({one['source']})"
        for one in used
    ]
