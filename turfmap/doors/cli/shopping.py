"""``turfmap shopping``."""

import datetime
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from turfmap.days.quantities import amount
from turfmap.desk.shopping import Store, shopping
from turfmap.doors import parameters
from turfmap.doors.cli import options, screen
from turfmap.foundations.definitions import table
from turfmap.foundations.errors import Fault, InputFaultsError


@click.command("shopping")
@options.place_file
@options.only_property
@click.option(
    "first",
    "--from",
    type=parameters.DateParameter(),
    required=True,
    metavar="YYYY-MM-DD",
    help="First day; what is due is judged as of it.",
)
@click.option(
    "last",
    "--until",
    type=parameters.DateParameter(),
    required=True,
    metavar="YYYY-MM-DD",
    help="Last day.",
)
@click.option(
    "uses", "--use", multiple=True, metavar="TASK=PRODUCT", help="What a task is done with."
)
@click.option("have", "--have", multiple=True, metavar="PRODUCT=AMOUNT", help="What is in stock.")
@options.as_json
def command(
    place: Path,
    property_name: str | None,
    first: datetime.date,
    last: datetime.date,
    uses: Sequence[str],
    have: Sequence[str],
    as_json: bool,
) -> None:
    """List what to buy for the tasks due in a period, less what is in stock.

    Reads the place. Writes nothing.

    \b
    Example:
      turfmap shopping demo.gpkg --from 2026-09-01 --until 2026-10-15 \\
        --use autumn_pre_emergent="Autumn barrier, granular" --have "Autumn barrier, granular=50 lb"
    """
    stock = {
        name: amount(text, record=f"--have {name}") for name, text in _pairs(have, "--have").items()
    }
    with screen.working("Adding up what is due"):
        result = shopping(
            place,
            first=first,
            last=last,
            store=Store(_pairs(uses, "--use"), stock),
            property_name=property_name,
        )
    screen.print_json(result) if as_json else _print(result)


def _pairs(texts: Sequence[str], option: str) -> dict[str, str]:
    faults = [
        Fault("", f"{option} {text}", "it has no =", "write it as NAME=VALUE")
        for text in texts
        if "=" not in text
    ]
    if faults:
        raise InputFaultsError(faults)
    # A product's name may hold a =; an amount and a task's name never do.
    split = [text.rpartition("=") if option == "--have" else text.partition("=") for text in texts]
    return {name.strip(): value.strip() for name, _, value in split}


def _print(result: Mapping[str, Any]) -> None:
    titles = {name: row["title"] for name, row in table("task").by("task").items()}
    rows = [
        (
            line["product"],
            ", ".join(titles[task] for task in line["tasks"]),
            str(line["zones"]),
            line["exact"]["words"],
            line["in_stock"]["words"] if line["in_stock"] else "",
            _purchase(line["purchase"]),
        )
        for line in result["lines"]
    ]
    headings = ("Product", "For", "Zones", "Needed", "In stock", "Buy")
    screen.print_table(f"From {result['from']} until {result['to']}", headings, rows, numbers=(2,))
    choose = [
        f"{titles[one['task']]} ({one['zones']} zones): "
        + (f"one of {', '.join(one['products'])}" if one["products"] else "no product of the book")
        for one in result["choose"]
    ]
    screen.print_lines(choose, heading="Name the product with --use")
    not_counted = _together(result["not_counted"], titles)
    screen.print_lines(not_counted, heading="Not counted")
    screen.print_lines(result["cautions"], heading="Caution")


def _together(left: Sequence[Mapping[str, Any]], titles: Mapping[str, str]) -> list[str]:
    """Say once what keeps many zones waiting."""
    return screen.said_once(
        (titles[one["task"]], one["why"], f"{one['property']} / {one['zone']}") for one in left
    )


def _purchase(bought: Mapping[str, Any]) -> str:
    packs = f"{bought['packs']} × {bought['pack']}: " if bought["packs"] is not None else ""
    return f"{packs}{bought['words']}"
