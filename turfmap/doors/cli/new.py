"""``turfmap new``."""

from pathlib import Path

import click

from turfmap.desk.new import new
from turfmap.doors.cli import options, screen


@click.command("new")
@options.place_file
@options.as_json
def command(place: Path, as_json: bool) -> None:
    """Make a new, empty place: a GeoPackage that any desktop GIS opens.

    Reads nothing. Writes the new file; one that is there already is never replaced.

    \b
    Example:
      turfmap new place.gpkg
    """
    result = new(place)
    if as_json:
        screen.print_json(result)
    else:
        click.echo(f"Made {place}. Next: turfmap import {place} FILE --as property")
