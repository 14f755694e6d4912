"""``turfmap sheet``."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

from turfmap.desk.day_sheet import day_sheet_file
from turfmap.doors import parameters
from turfmap.doors.cli import options, screen
from turfmap.doors.cli.visit_options import print_plans, read_asked, visit_options


@click.command("sheet")
@options.place_file
@visit_options
@click.option(
    "--out",
    type=parameters.FILE,
    required=True,
    metavar="FILE.pdf",
    help="Where to write it; .html prints from any browser.",
)
@options.as_json
def command(place: Path, properties: Sequence[str], out: Path, as_json: bool, **given: Any) -> None:
    """Make the day sheet to print: plan, zones, tank loads, no-spray causes, signs to post.

    Reads the place, and weather and forecast where they are given. Writes the file that --out
    names.

    \b
    Example:
      turfmap sheet demo.gpkg --property "Larkspur Hollow" --product "Broadleaf three-way" \\
        --on 2026-10-03T08:00 --carrier "1 gal/1000sqft" --tank 100gal --out sheet.html
    """
    asked, overrides = read_asked(given)
    result = day_sheet_file(place, properties, asked, out=out, overrides=overrides)
    screen.print_json(result) if as_json else print_plans(result)
