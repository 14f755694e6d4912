"""``turfmap import``."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

from turfmap.desk.bring_in import bring_in
from turfmap.desk.export import bring_back
from turfmap.desk.import_batch import Source
from turfmap.desk.import_columns import Columns
from turfmap.desk.merge import CHOICES, merge_branch
from turfmap.doors.cli import completing, options, screen
from turfmap.foundations.definitions import map_layers
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.foundations.units import square_feet


@click.command("import")
@options.place_file
@click.argument("file", metavar="FILE|FOLDER", type=click.Path(path_type=Path))
@click.option(
    "layer_name",
    "--as",
    metavar="LAYER",
    shell_complete=completing.layers,
    help="What it becomes: zone, …",
)
@click.option("is_branch", "--branch", is_flag=True, help="It is a branch of this place.")
@click.option(
    "both_changed",
    "--both-changed",
    type=click.Choice(CHOICES),
    default=CHOICES[0],
    show_default=True,
    help="Of a branch or folder: what to do with rows that were changed here as well.",
)
@click.option(
    "property_name",
    "--property",
    metavar="NAME",
    shell_complete=completing.properties,
    help="For zones outside every property: the one they belong to, made if it is new.",
)
@click.option("maps", "--map", multiple=True, metavar="THEIRS=OURS", help="Rename a column.")
@click.option("sets", "--set", multiple=True, metavar="COLUMN=VALUE", help="Same for all records.")
@click.option("--keep-good", is_flag=True, help="Leave bad records out instead of refusing all.")
@click.option("--crs", metavar="EPSG:nnnn", help="Its coordinate system, where the file has none.")
@click.option("--layer", metavar="NAME", help="Which layer of a file that holds several.")
@options.as_json
def command(
    place: Path,
    file: Path,
    layer_name: str | None,
    is_branch: bool,
    both_changed: str,
    property_name: str | None,
    maps: Sequence[str],
    sets: Sequence[str],
    keep_good: bool,
    as_json: bool,
    **reading: str | None,
) -> None:
    """Bring a file into a place as one of its layers.

    Reads GeoJSON, GeoPackage, zipped shapefile, KML and KMZ, GPX, DXF, FlatGeobuf, GeoParquet and
    CSV (well-known text, or longitude and latitude). All of it is written, or nothing.

    A folder from turfmap export, or a branch with --branch, comes home row by row: what is there
    already stays as it is, and what was changed on both sides is told.

    Reads the file. Writes the place; turfmap undo takes back what was drawn.

    \b
    Examples:
      turfmap import demo.gpkg lots.geojson --as property --map OWNER=client
      turfmap import demo.gpkg lawns.kml --as zone --set kind=turf --property "Pine Row"
      turfmap import demo.gpkg replies.csv --as client_answer
      turfmap export demo.gpkg --out north.gpkg --branch north --property "1 Wren Bend"
      turfmap import demo.gpkg north.gpkg --branch
    """
    if is_branch or (layer_name is None and file.is_dir()):
        home = (merge_branch if is_branch else bring_back)(place, file, both_changed=both_changed)
        screen.print_json(home) if as_json else _print_home(file, home)
        return
    if layer_name is None:
        raise input_fault(
            "nobody said what it becomes",
            f"choose one of {', '.join(map_layers())}, or give --branch for a branch",
            record="--as",
        )
    columns = Columns(_pairs(maps, "--map"), _pairs(sets, "--set"))
    source = Source(file, columns, crs=reading["crs"], layer=reading["layer"])
    with Progress(
        SpinnerColumn(),
        TextColumn("Reading {task.fields[file]}: {task.completed:,} records"),
        TimeElapsedColumn(),
        console=Console(stderr=True),
        transient=True,
    ) as bar:
        task = bar.add_task("read", total=None, file=file.name)
        result = bring_in(
            place,
            source,
            layer_name=layer_name,
            property_name=property_name,
            keep_good=keep_good,
            progress=lambda done: bar.update(task, completed=done),
        )
    screen.print_json(result) if as_json else _print(result)


def _pairs(texts: Sequence[str], option: str) -> Mapping[str, str]:
    faults = [
        Fault("", f"{option} {text}", "it has no =", "write it as NAME=VALUE")
        for text in texts
        if "=" not in text
    ]
    if faults:
        raise InputFaultsError(faults)
    return {text.partition("=")[0].strip(): text.partition("=")[2].strip() for text in texts}


def _print(result: Mapping[str, Any]) -> None:
    words = result["layer"].replace("_", " ")
    screen.say(f"{result['file']}: {result['added']:,} brought in as {words}.")
    if result["answers"]:
        click.echo(f"{result['answers']:,} client answers were taken from it.")
    screen.print_lines(result["notes"], heading="Note")
    if result["repairs"]:
        _print_repairs(result["repairs"])
    screen.print_lines(result["faults"], heading=f"{result['left_out']:,} left out")


def _print_home(file: Path, result: Mapping[str, Any]) -> None:
    lines = [
        f"{what}: " + ", ".join(f"{count:,} {name}" for name, count in result[what].items())
        for what in ("added", "replaced", "removed", "settled")
        if result[what]
    ]
    screen.print_lines(lines or ["Nothing was changed there since."], heading=f"{file} came home")


def _print_repairs(repairs: Sequence[Mapping[str, Any]]) -> None:
    rows = [
        (
            one["record"],
            one["problem"],
            f"{one['parts_before']} / {one['parts_after']}",
            f"{square_feet(one['area_before_m2']):,.0f}",
            f"{square_feet(one['area_after_m2']):,.0f}",
        )
        for one in repairs
    ]
    headings = ("Record", "What was wrong", "Parts before / after", "sq ft as drawn", "sq ft now")
    screen.print_table(
        "Broken shapes that were mended: look at them", headings, rows, numbers=(3, 4)
    )
