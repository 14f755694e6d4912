"""``turfmap export``."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from turfmap.desk.branch import split_by, split_off
from turfmap.desk.export import export_place
from turfmap.doors.cli import options, screen
from turfmap.foundations.errors import input_fault


@click.command("export")
@options.place_file
@click.option(
    "out",
    "--out",
    required=True,
    type=click.Path(path_type=Path),
    metavar="FOLDER|FILE.gpkg",
    help="A new folder for all layers or several branches; a new file for one branch.",
)
@click.option("branch", "--branch", metavar="NAME", help="Split off a branch of this name.")
@click.option(
    "properties",
    "--property",
    multiple=True,
    metavar="NAME",
    help="With --branch: a property that goes along; again for more.",
)
@click.option(
    "branch_by",
    "--branch-by",
    metavar="COLUMN",
    help="A branch for each value of this column of the properties, such as client.",
)
@options.as_json
def command(
    place: Path,
    out: Path,
    branch: str | None,
    properties: Sequence[str],
    branch_by: str | None,
    as_json: bool,
) -> None:
    """Hand out all layers as GeoParquet, or split off branches that can come home.

    turfmap import brings either back: PLACE.gpkg FOLDER, or PLACE.gpkg BRANCH.gpkg --branch.

    Reads the place. Writes a new folder or file, never over another.

    \b
    Examples:
      turfmap export demo.gpkg --out layers
      turfmap export demo.gpkg --out north.gpkg --branch north --property "1 Wren Bend"
      turfmap export demo.gpkg --out branches --branch-by client
    """
    _check(branch, properties, branch_by)
    if branch is not None:
        found: Any = [split_off(place, out=out, name=branch, properties=properties)]
    elif branch_by is not None:
        found = split_by(place, folder=out, column=branch_by)
    else:
        result = export_place(place, folder=out)
        screen.print_json(result) if as_json else _print_rows([result], "Written as GeoParquet")
        return
    result = {"branches": found}
    screen.print_json(result) if as_json else _print_rows(found, "Branches")


def _check(branch: str | None, properties: Sequence[str], branch_by: str | None) -> None:
    if branch is not None and branch_by is not None:
        raise input_fault(
            "it names one branch, and --branch-by makes several",
            "give one of them",
            record="--branch",
        )
    if branch is not None and not properties:
        raise input_fault(
            "no property goes along", "name them with --property NAME", record="--branch"
        )
    if branch is None and properties:
        raise input_fault(
            "only a branch takes some of the properties", "add --branch NAME", record="--property"
        )


def _print_rows(found: Sequence[Mapping[str, Any]], heading: str) -> None:
    lines = [
        f"{one['out']}: "
        + (", ".join(f"{n:,} {name}" for name, n in one["rows"].items() if n) or "nothing")
        for one in found
    ]
    screen.print_lines(lines, heading=heading)
