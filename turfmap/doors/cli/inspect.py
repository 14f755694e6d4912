"""``turfmap inspect``."""

from collections.abc import Sequence
from pathlib import Path

import click

from turfmap.desk.inspect import inspect
from turfmap.doors import parameters
from turfmap.doors.cli import options, screen


@click.command("inspect")
@options.place_file
@click.option(
    "--out",
    type=parameters.FILE,
    metavar="FILE.html",
    help="Draw where each of them is; FILE.geojson writes their shapes.",
)
@options.as_json
def command(place: Path, out: Path | None, as_json: bool) -> None:
    """Look for what is odd about zones: broken, thin, drawn twice, over the line, leaving gaps.

    Nothing is changed. Ground that is drawn twice counts for one zone only.

    Reads the place. Writes what --out names.

    \b
    Example:
      turfmap inspect demo.gpkg --out odd.html
    """
    with screen.working("Looking at every zone"):
        result = inspect(place, out=out)
    if as_json:
        screen.print_json(result)
        return
    rows = [
        (
            one["property"],
            one["zone"],
            one["problem_words"],
            f"{one['area_sqft']:,.0f}" if one["area_m2"] else "",
            one["words"],
        )
        for one in result["oddities"]
    ]
    if not rows:
        click.echo(f"{result['zones']:,} zones looked at: nothing odd.")
    else:
        _print(rows, result["zones"])
    if out is not None:
        click.echo(f"Written: {out}.")


def _print(rows: Sequence[Sequence[str]], zones: int) -> None:
    screen.print_table(
        f"{len(rows):,} things to look at, of {zones:,} zones",
        ("Property", "Zone", "What", "sq ft", "More"),
        rows,
        numbers=(3,),
    )
