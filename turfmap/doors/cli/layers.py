"""``turfmap layers``."""

from collections.abc import Mapping
from typing import Any

import click

from turfmap.desk.layers import layers, layers_page, one_layer
from turfmap.doors.cli import completing, options, screen


@click.command("layers")
@click.argument("name", required=False, shell_complete=completing.layers_and_tables)
@click.option("page", "--page", is_flag=True, help="Print everything as one Markdown page.")
@options.as_json
def command(name: str | None, page: bool, as_json: bool) -> None:
    """Print the map layers and reference tables, or one of them with its columns and sources.

    Reads and writes no file.

    \b
    Examples:
      turfmap layers
      turfmap layers setback
    """
    if page:
        click.echo(layers_page(), nl=False)
        return
    result: dict[str, Any] = one_layer(name) if name else dict(layers())
    if as_json:
        screen.print_json(result)
    elif name:
        _print_one(result)
    else:
        _print_all(result)


def _print_all(result: Mapping[str, Any]) -> None:
    screen.print_table(
        "Map layers: what your place holds",
        ("Name", "Shapes", "What it is"),
        [(one["name"], one["geometry"] or "none", one["plain"]) for one in result["map"]],
    )
    screen.print_table(
        "Reference tables: what turfmap knows, each row with its source",
        ("Name", "Rows", "What it is"),
        [(one["name"], str(one["rows"]), one["plain"]) for one in result["tables"]],
        numbers=(1,),
    )


def _print_one(result: Mapping[str, Any]) -> None:
    click.echo(f"{result['title']}: {result['plain']}")
    rows = [
        (
            column["name"],
            column["type"].replace("_", " "),
            column["unit"],
            "yes" if column["required"] else "",
            ", ".join(column["one_of"]),
            column["plain"],
        )
        for column in result["columns"]
    ]
    screen.print_table(
        "Columns", ("Name", "Type", "Unit", "Must have", "One of", "What it means"), rows
    )
    if result["rows"]:
        names = list(result["rows"][0])
        shown = [[_cell(row[name]) for name in names] for row in result["rows"]]
        screen.print_table("Rows", names, shown)


def _cell(value: object) -> str:
    return "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)
