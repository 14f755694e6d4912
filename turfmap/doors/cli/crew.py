"""``turfmap crew``."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

from turfmap.desk.crew_page import crew_file
from turfmap.doors import parameters
from turfmap.doors.cli import options, screen
from turfmap.doors.cli.visit_options import print_plans, read_asked, visit_options


@click.command("crew")
@options.place_file
@visit_options
@click.option(
    "--out", type=parameters.FILE, required=True, metavar="FILE.html", help="Where to write it."
)
@options.as_json
def command(place: Path, properties: Sequence[str], out: Path, as_json: bool, **given: Any) -> None:
    """Make the page for a crew's phone: where not to spray, without a network.

    One file with everything in it: zones with go, wait or no, no-spray ground, and the distance to
    its edge from where they tap or stand. A form in it writes the visit down to bring home.

    Reads the place, and weather and forecast where they are given. Writes the file that --out
    names.

    \b
    Examples:
      turfmap crew demo.gpkg --property "Larkspur Hollow" --product "Broadleaf three-way" \\
        --on 2026-10-03T08:00 --wind "6 mph NW" --droplet coarse --air 71F --out crew.html
      turfmap record demo.gpkg --from visits-2026-10-03.json
    """
    asked, overrides = read_asked(given)
    result = crew_file(place, properties, asked, out=out, overrides=overrides)
    screen.print_json(result) if as_json else print_plans(result)
