"""``turfmap undo``."""

from pathlib import Path
from typing import Any

import click

from turfmap.desk.edit_faults import RefusedError
from turfmap.desk.undo import NothingToUndoError, changes, undo
from turfmap.doors.cli import options, screen
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault

WHO = "undo"
# What each operation did, as people say it.
_DID = {"insert": "added", "update": "changed", "delete": "removed"}


@click.command("undo")
@options.place_file
@click.option("only_list", "--list", is_flag=True, help="List the newest changes; undo nothing.")
@click.option("--change", type=int, metavar="N", help="Which change; otherwise the newest.")
@options.as_json
def command(place: Path, only_list: bool, change: int | None, as_json: bool) -> None:
    """Undo a change of zones, water, sites and all else that is drawn, whoever made it.

    What a desktop GIS changed in the file is in the list too. Undoing is a change itself, so it can
    be undone by its number. A row that was changed again since is not touched.

    Reads the place. Writes to it, but with --list nothing.

    \b
    Example:
      turfmap undo demo.gpkg --list
    """
    if only_list:
        _list(place, as_json=as_json)
        return
    try:
        result = undo(place, change=change, who=WHO)
    except NothingToUndoError:
        raise input_fault("there is nothing to undo", "", file=str(place)) from None
    except RefusedError as error:
        faults = [Fault(str(place), "", one["problem"], one["mend"]) for one in error.faults]
        raise InputFaultsError(faults) from None
    if as_json:
        screen.print_json(result)
    else:
        click.echo(f"Undid change {result['undone']}: {len(result['results']):,} rows put back.")


def _list(place: Path, *, as_json: bool) -> None:
    found = changes(place)
    if as_json:
        screen.print_json({"changes": found})
        return
    rows = [
        (str(one["change"]), _when(one["at"]), one["who"] or "another program", _what(one))
        for one in found
    ]
    screen.print_table("Changes", ("Change", "When (UTC)", "By", "What"), rows, numbers=(0,))


def _when(at: str) -> str:
    return at[:19].replace("T", " ")


def _what(one: dict[str, Any]) -> str:
    said = ", ".join(
        f"{row['count']:,} {row['layer'].replace('_', ' ')} {_DID[row['operation']]}"
        for row in one["rows"]
    )
    return said if one["undoes"] is None else f"undid change {one['undoes']}: {said}"
