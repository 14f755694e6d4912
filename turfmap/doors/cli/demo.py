"""``turfmap demo``."""

from pathlib import Path

import click

from turfmap.desk.demo import AS_OF, demo
from turfmap.doors.cli import options, screen


@click.command("demo")
@click.option(
    "--into",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("turfmap-demo"),
    show_default=True,
    metavar="FOLDER",
    help="Where the place and its map go.",
)
@options.as_json
def command(folder: Path, as_json: bool) -> None:
    """Make the demo: an invented estate and sixty invented clients, measured, judged and drawn.

    Reads nothing of yours. Writes a place, its map and a file of trucks into the folder; what you
    changed there is never replaced.

    \b
    Example:
      turfmap demo --into turfmap-demo
    """
    with screen.working("Making the demo"):
        result = demo(folder, as_of=AS_OF)
    if as_json:
        screen.print_json(result)
        return
    rows = [(row["what"], row["value"]) for row in result["headline"]]
    screen.print_table(
        f"The demo as of {result['as_of']}", ("What", "How much"), rows, numbers=(1,)
    )
    click.echo(f"Place: {result['gpkg']}")
    click.echo(f"Map:   {result['map']}")
