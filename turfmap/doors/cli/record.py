"""``turfmap record``."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from turfmap.desk.record import record, record_from_file
from turfmap.desk.record_correction import correct
from turfmap.desk.record_list import export, records
from turfmap.doors import parameters
from turfmap.doors.cli import completing, options, screen
from turfmap.foundations.dates import day_words, iso_date
from turfmap.foundations.definitions import table
from turfmap.foundations.errors import input_fault
from turfmap.foundations.units import area_words

# So much of a long name is shown, and is enough to correct it by.
SHOWN_OF_A_NAME = 12

# The facts of a record: what the desk calls them, the option, and what it is.
FACTS = {
    "property": ("--property", "NAME", "The property."),
    "task": ("--task", "TASK", "What was done: a name of turfmap layers task."),
    "date": ("--date", "YYYY-MM-DD", "The day."),
    "start": ("--start", "HH:MM", "When it began."),
    "end": ("--end", "HH:MM", "When it ended."),
    "product": ("--product", "NAME", "A product of the place, or an active ingredient."),
    "amount": ("--amount", "AMOUNT", 'How much product, not mix: "3.5 gal".'),
    "area": ("--area", "AREA", 'Ground treated: "12000 sqft". Else the treatable ground.'),
    "registration": ("--registration", "NO", "Registration number, if the product has none here."),
    "by": ("--by", "NAME", "Who applied it."),
    "licence": ("--licence", "NO", "Licence or certificate number."),
    "supervised": ("--supervised", "NAME", "Who worked under them without a certificate."),
    "customer": ("--customer", "NAME", "For whom; else the property's client."),
    "address": ("--address", "TEXT", "The customer's address; else the property's."),
    "site": ("--site", "TEXT", "What grows there; else what the zone says."),
    "wind": ("--wind", "WIND", 'Such as "6 mph NW", or calm.'),
    "air": ("--air", "TEMPERATURE", 'Such as "71F".'),
    "equipment": ("--equipment", "TEXT", "What it was applied with."),
    "photo": ("--photo", "PATH", "Where a picture is kept."),
    "note": ("--note", "TEXT", "Anything else."),
    "reason": ("--reason", "TEXT", "Why an older record was wrong."),
}
# Those that Tab completes.
OFFERS = {
    "property": completing.properties,
    "task": completing.tasks,
    "product": completing.products,
}


def fact_options(command: Any) -> Any:
    """Add one option a fact."""
    for name, (option, metavar, words) in reversed(FACTS.items()):
        offer = OFFERS.get(name)
        add = click.option(name, option, metavar=metavar, shell_complete=offer, help=words)
        command = add(command)
    return command


@click.command("record")
@options.place_file
@fact_options
@click.option(
    "zones",
    "--zone",
    multiple=True,
    metavar="NAME",
    shell_complete=completing.zones,
    help="A zone; else all it is for.",
)
@click.option(
    "drawn",
    "--drawn",
    type=parameters.FILE,
    metavar="FILE",
    help="Its ground, drawn: GeoJSON, KML, …",
)
@click.option("--unfinished", is_flag=True, help="Keep it although a rule asks for more.")
@click.option(
    "from_file", "--from", type=parameters.FILE, metavar="FILE.json", help="Add a crew's visits."
)
@click.option("corrects", "--correct", metavar="RECORD", help="Correct a record by a new one.")
@click.option("cancelled", "--cancel", is_flag=True, help="With --correct: it was never done.")
@click.option("listing", "--list", is_flag=True, help="List the records.")
@click.option(
    "out", "--export", type=parameters.FILE, metavar="FILE", help="Write them: .csv, .json, .html."
)
@options.as_json
def command(place: Path, as_json: bool, **given: Any) -> None:
    """Record what was done. A record is never changed: a correction is a new one.

    Reads the place, and files with --drawn and --from. Writes a record into the place, or with
    --export the file that it names. --list writes nothing.

    \b
    Examples:
      turfmap record demo.gpkg --property "Larkspur Hollow" --zone "Front lawn west" \\
        --task broadleaf_post_emergent --product "Broadleaf three-way" --amount "20 fl oz" \\
        --date 2026-09-25 --start 08:10 --end 08:55 --by "A. Applicator" --licence 12345 \\
        --registration 000-000 --wind "6 mph NW" --air 71F
      turfmap record demo.gpkg --correct 3fa9c1d2e07b --amount "18 fl oz" --reason "misread"
      turfmap record demo.gpkg --from visits-2026-10-03.json
      turfmap record demo.gpkg --list
      turfmap record demo.gpkg --export records.csv
    """
    if given["out"] is not None:
        result = export(place, given["out"], property_name=given["property"])
        screen.print_json(result) if as_json else click.echo(
            f"Written: {result['out']} ({result['records']:,} records)."
        )
    elif given["listing"]:
        result = records(place, property_name=given["property"])
        screen.print_json(result) if as_json else _print_list(result)
    else:
        result = _record(place, given)
        screen.print_json(result) if as_json else _print(result)


def _record(place: Path, given: Mapping[str, Any]) -> dict[str, Any]:
    unfinished = given["unfinished"]
    said = {name: given[name] for name in FACTS if given[name] is not None}
    said |= {"zones": list(given["zones"])} if given["zones"] else {}
    said |= {"cancelled": "yes"} if given["cancelled"] else {}
    if given["from_file"] is not None:
        if said or given["corrects"] or given["drawn"]:
            mend = "leave the other options out: each record of the file brings its own"
            raise input_fault("it goes alone", mend, record="--from")
        return record_from_file(place, given["from_file"], unfinished=unfinished)
    drawn = given["drawn"]
    if given["corrects"] is not None:
        return correct(place, given["corrects"], said, drawn_file=drawn, unfinished=unfinished)
    return record(place, said, drawn_file=drawn, unfinished=unfinished)


def _print(result: Mapping[str, Any]) -> None:
    for one in result["records"]:
        task = _titles()[one["task"]]
        day = day_words(iso_date(one["date"], record="date"))
        screen.say(f"Recorded as {one['record']}: {one['property']}, {task}, {day}.")
        if one["corrects"]:
            does = "cancels" if one["cancelled"] else "takes the place of"
            click.echo(f"It {does} {one['corrects']}, which is kept and no longer counts.")
        screen.print_lines([_zone(zone) for zone in one["zones"]], heading="On")
        screen.print_lines(one["notes"])
        missing = [f"{lack['words']} ({', '.join(lack['rules'])})" for lack in one["missing"]]
        screen.print_lines(missing, heading=f"Unfinished: correct {one['record']} with")
        screen.print_lines([lack["words"] for lack in one["advised"]], heading="Better with")
        screen.print_lines([due["words"] for due in one["deadlines"]], heading="Deadlines")
        screen.print_lines(one["posting"], heading="Afterwards")
    if result["already"]:
        screen.say(f"Here already, left as they are: {', '.join(result['already'])}.")
    screen.print_lines(result["cautions"], heading="Caution")


def _titles() -> dict[str, str]:
    return {name: row["title"] for name, row in table("task").by("task").items()}


def _zone(zone: Mapping[str, Any]) -> str:
    parts = [zone["zone"] or "the whole property"]
    if zone["area_treated_m2"] is not None:
        parts.append(area_words(zone["area_treated_m2"]))
    return ", ".join([*parts, *([_amount(zone)] if zone["amount"] is not None else [])])


def _amount(one: Mapping[str, Any]) -> str:
    return "" if one["amount"] is None else f"{one['amount']:.6g} {one['amount_unit'] or ''}"


def _lacking(missing: Sequence[Mapping[str, Any]]) -> str:
    words = [lack["words"] for lack in missing]
    return "; ".join(words[:2]) + (f" and {len(words) - 2} more" if len(words) > 2 else "")


def _print_list(result: Mapping[str, Any]) -> None:
    titles = _titles()
    rows = [
        (
            one["record"][:SHOWN_OF_A_NAME],
            str(one["date"]),
            one["property"],
            ", ".join(one["zones"]) or "whole property",
            titles.get(one["task"], one["task"]),
            one["product"] or "",
            _amount(one),
            "" if one["area_treated_m2"] is None else area_words(one["area_treated_m2"]),
            one["status"],
            _lacking(one["missing"]),
        )
        for one in result["records"]
    ]
    headings = ("Record", "Date", "Property", "Zones", "Task", "Product", "Amount", "Treated")
    screen.print_table(
        "Records", (*headings, "Status", "A rule asks for more"), rows, numbers=(6, 7)
    )
