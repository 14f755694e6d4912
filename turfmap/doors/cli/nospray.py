"""``turfmap nospray``."""

from pathlib import Path
from typing import Any

import click

from turfmap.desk.nospray import nospray
from turfmap.doors import parameters
from turfmap.doors.cli import options, screen
from turfmap.foundations.units import distance_words, square_feet


@click.command("nospray")
@options.place_file
@click.option(
    "--out", type=parameters.FILE, required=True, metavar="FILE.geojson", help="Where to write it."
)
@options.only_property
@options.setback_options
@options.as_json
def command(
    place: Path,
    out: Path,
    property_name: str | None,
    product: str | None,
    as_json: bool,
    **given: Any,
) -> None:
    """Write the no-spray ground, one shape for each thing that is protected.

    Reads the place. Writes the file that --out names.

    \b
    Example:
      turfmap nospray demo.gpkg --product atrazine --out no-spray.geojson
    """
    result = nospray(
        place,
        out=out,
        property_name=property_name,
        product=product,
        overrides=options.overrides(given),
    )
    if as_json:
        screen.print_json(result)
        return
    rows = [
        (
            one["name"],
            one["category"].replace("_", " "),
            distance_words(one["distance_m"]),
            distance_words(one["margin_m"]),
            f"{square_feet(one['lost_m2']):,.0f}",
        )
        for one in result["features"]
    ]
    headings = ("Because of", "Kind", "Setback", "Margin", "Takes from zones, sq ft")
    screen.print_table(f"No-spray ground in {out}", headings, rows, numbers=(2, 3, 4))
    screen.print_lines(result["cautions"], heading="Caution")
