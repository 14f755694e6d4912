"""``turfmap map``."""

import datetime
from pathlib import Path
from typing import Any

import click

from turfmap.desk.map import map_file
from turfmap.doors.cli import options, screen


@click.command("map")
@options.place_file
@options.as_of
@click.option(
    "--out", type=options.FILE, required=True, metavar="FILE.html", help="Where to write it."
)
@options.weather_file
@options.only_property
@options.setback_options
@options.as_json
def command(
    place: Path,
    as_of: datetime.date,
    out: Path,
    weather_file: Path | None,
    property_name: str | None,
    product: str | None,
    as_json: bool,
    **given: Any,
) -> None:
    """Draw the map as one HTML file that opens anywhere, with no network.

    It opens on the day asked about; a slider shows the weeks before and after, as far as known.

    \b
    Example:
      turfmap map place.gpkg --as-of 2026-09-24 --out map.html
    """
    with screen.working(f"Drawing {out.name}"):
        result = map_file(
            place,
            as_of=as_of,
            out=out,
            weather_file=weather_file,
            property_name=property_name,
            product=product,
            overrides=options.overrides(given),
        )
    if as_json:
        screen.print_json(result)
        return
    click.echo(f"Drew {result['zones']:,} zones in {out}. Open it in any browser.")
    screen.print_lines(result["cautions"], heading="Caution")
