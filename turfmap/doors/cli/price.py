"""``turfmap price``."""

import datetime
import locale
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from turfmap.days.money import Currency, currency_of
from turfmap.desk.letter_batch import FORMATS
from turfmap.desk.price import Wish, price
from turfmap.doors.cli import completing, options, screen
from turfmap.foundations.errors import Fault, InputFaultsError

FOLDER = click.Path(path_type=Path, file_okay=False)


@click.command("price")
@options.place_file
@click.option(
    "property_name",
    "--property",
    required=True,
    metavar="NAME",
    shell_complete=completing.properties,
    help="Whose ground.",
)
@options.as_of
@click.option(
    "tasks",
    "--task",
    multiple=True,
    metavar="TASK",
    shell_complete=completing.tasks,
    help="Only this work.",
)
@click.option("counts", "--count", multiple=True, metavar="TASK=N", help="Units of a task.")
@click.option("--miles", type=click.FloatRange(0, 10_000), help="There and back, for a visit.")
@click.option("--visits", type=click.IntRange(0, 10_000), help="Else one for each line.")
@click.option("--out", type=FOLDER, metavar="FOLDER", help="A new folder for the estimate.")
@click.option("--style", type=FOLDER, metavar="FOLDER", help="Your business.toml and templates.")
@click.option("--language", type=click.Choice(["en", "es"]), help="Of the estimate.")
@click.option("formats", "--format", multiple=True, type=click.Choice(FORMATS), default=("pdf",))
@options.as_json
def command(
    place: Path,
    property_name: str,
    as_of: datetime.date,
    as_json: bool,
    **given: Any,
) -> None:
    """Price work on a property from its measured ground and your own rate card.

    Prices come in with --as rate_card (columns task, per, price, minimum, unit, product, minutes),
    costs with --as own_cost (item, price, per). What a cost lacks is said, and the margin is then
    not known. The currency is that of business.toml in --style, else of this machine's locale.
    This is no advice on taxes.

    Reads the place. Writes nothing, but with --out a new folder.

    \b
    Examples:
      turfmap import demo.gpkg prices.csv --as rate_card
      turfmap price demo.gpkg --property "Larkspur Hollow" --as-of 2026-09-24 --miles 12
      turfmap price demo.gpkg --property "Larkspur Hollow" --as-of 2026-09-24 --out estimate
    """
    result = price(
        place,
        Wish(
            property_name,
            as_of,
            tuple(given["tasks"]),
            _counts(given["counts"]),
            given["miles"],
            given["visits"],
            given["style"],
            given["out"],
            given["language"],
            tuple(dict.fromkeys(given["formats"])),
            _local_currency(),
        ),
    )
    screen.print_json(result) if as_json else _print(result)


def _local_currency() -> Currency:
    """Return the currency of the machine's locale; none if the locale is not installed."""
    before = locale.setlocale(locale.LC_MONETARY)
    try:
        locale.setlocale(locale.LC_MONETARY, "")
        return currency_of(locale.localeconv())
    except locale.Error:
        return Currency()
    finally:
        locale.setlocale(locale.LC_MONETARY, before)


def _counts(texts: Sequence[str]) -> dict[str, int]:
    found: dict[str, int] = {}
    faults = []
    for text in texts:
        task, _, number = text.partition("=")
        if not (number.isdecimal() and len(number) <= 6):
            faults.append(Fault("", f"--count {text}", "it is no count", "write it as TASK=12"))
            continue
        found[task.strip()] = int(number)
    if faults:
        raise InputFaultsError(faults)
    return found


def _print(result: Mapping[str, Any]) -> None:
    code = f" ({result['currency']})" if result["currency"] else ""
    rows = [
        (
            line["title"],
            f"{line['quantity']} {_unit(line)}",
            line["price"] + (" (least)" if line["is_minimum"] else ""),
            "not known" if line["minutes"] is None else f"{line['minutes']:.0f}",
            line["labour"] or "not known",
            line["product"] or "not known",
        )
        for line in result["lines"]
    ]
    headings = ("Work", "How much", f"Price{code}", "Minutes", "Labour", "Product")
    screen.print_table(result["property"], headings, rows, numbers=(2, 3, 4, 5))
    total = f"Price {result['total']}"
    if result["cost"] is None:
        click.echo(f"{total}; the cost, and so the margin, is not known.")
    else:
        click.echo(
            f"{total}, cost {result['cost']} ({result['visits']} visits, travel"
            f" {result['travel']}), margin {result['margin']} ({result['margin_pct']} %)."
        )
    screen.print_lines(result["missing"], heading="Without a price in the rate card")
    screen.print_lines(result["unknown"], heading="Not known")
    screen.print_lines(result["files"], heading="Written")
    screen.print_lines(result["cautions"], heading="Caution")


def _unit(line: Mapping[str, Any]) -> str:
    return {"1000_sq_ft": "sq ft", "visit": "visit"}.get(line["per"], line["unit"] or "units")
