"""``turfmap map``."""

import datetime
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from turfmap.desk.map import GroundAsked, map_file
from turfmap.desk.slope import SlopeAsked
from turfmap.doors import parameters
from turfmap.doors.cli import options, raster_options, screen


@click.command("map")
@options.place_file
@options.as_of
@click.option(
    "--out", type=parameters.FILE, required=True, metavar="FILE.html", help="Where to write it."
)
@parameters.weather_file
@options.only_property
@options.setback_options
@raster_options.heights(
    "--with-slope", "Heights of the bare ground: the map shows slope and relief, and keeps nothing."
)
@options.as_json
def command(
    place: Path,
    as_of: datetime.date,
    out: Path,
    weather_file: Path | None,
    property_name: str | None,
    product: str | None,
    with_slope: Path | None,
    as_json: bool,
    **given: Any,
) -> None:
    """Draw the map as one HTML file that opens anywhere, with no network.

    It opens on the day asked about; a slider shows the weeks before and after, as far as known.
    Slope and hours of sun that the place keeps (area --keep, sun --keep) can be shown over it.

    Reads the place, and weather and heights where they are given. Writes the file that --out names.

    \b
    Examples:
      turfmap map demo.gpkg --as-of 2026-09-24 --out map.html
      turfmap map demo.gpkg --as-of 2026-09-24 --with-slope ground.tif --vertical-unit m \\
        --out map.html
    """
    asked = GroundAsked(product, options.overrides(given), _slope(with_slope, given))
    with screen.working(f"Drawing {out.name}"):
        result = map_file(
            place,
            as_of=as_of,
            out=out,
            weather_file=weather_file,
            property_name=property_name,
            asked=asked,
        )
    if as_json:
        screen.print_json(result)
        return
    click.echo(f"Drew {result['zones']:,} zones in {out}. Open it in any browser.")
    screen.print_lines(result["cautions"], heading="Caution")


def _slope(heights: Path | None, given: Mapping[str, Any]) -> SlopeAsked | None:
    if heights is None:
        idle = ("vertical_unit", "raster_date")
        raster_options.refuse_without_raster(given, "--with-slope", idle)
        return None
    return SlopeAsked(
        heights,
        raster_options.vertical_unit(given),
        given["resampling"],
        taken=given["raster_date"],
    )
