"""``turfmap beds``."""

import datetime
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from turfmap.desk.bed_plants import counted, plant_words
from turfmap.desk.beds import Covering, beds
from turfmap.doors.cli import completing, options, screen
from turfmap.foundations.dates import day_words, iso_date
from turfmap.foundations.errors import Fault, InputFaultsError
from turfmap.foundations.units import METRES_PER_INCH, metres

DEEPEST_IN = 24.0


@click.command("beds")
@options.place_file
@options.only_property
@options.as_of
@click.option(
    "--material",
    metavar="NAME",
    shell_complete=completing.bed_materials,
    help="Of the table bed_material: pine_straw, bark.",
)
@click.option("--depth", metavar="DISTANCE", help="Depth wanted, such as 3in.")
@click.option("--there", metavar="DISTANCE", help="Depth that lies there already.")
@click.option("--bale-covers", type=float, metavar="SQFT", help="Ground that one bale covers.")
@click.option("--bag", type=float, metavar="CUFT", help="What a bag holds; else by the cubic yard.")
@options.as_json
def command(
    place: Path,
    property_name: str | None,
    as_of: datetime.date,
    as_json: bool,
    **given: Any,
) -> None:
    """Measure beds: straw or mulch for them, edging, and what is pruned or planted in a week.

    Plants are your own list: turfmap import PLACE.gpkg PLANTS.csv --as bed_plant, with the columns
    property, zone, plant and how_many.

    Reads the place. Writes nothing.

    \b
    Examples:
      turfmap beds demo.gpkg --as-of 2026-11-16 --material pine_straw --bale-covers 35
      turfmap beds demo.gpkg --as-of 2026-03-02 --material bark --depth 3in --there 1in --json
    """
    result = beds(place, as_of=as_of, covering=_covering(given), property_name=property_name)
    screen.print_json(result) if as_json else _print(result)


def _covering(given: Mapping[str, Any]) -> Covering | None:
    faults: list[Fault] = []
    depths: dict[str, float | None] = {}
    for name in ("depth", "there"):
        text = given[name]
        depths[name] = None
        try:
            if text is not None:
                depths[name] = metres(text, record=f"--{name}") / METRES_PER_INCH
        except InputFaultsError as error:
            faults += error.faults
        if (depths[name] or 0.0) > DEEPEST_IN:
            mend = f"give {DEEPEST_IN:g} in at the most"
            faults.append(Fault("", f"--{name}", f"{text!r} buries the plants", mend))
    for name in ("bale_covers", "bag"):
        if given[name] is not None and not 0.1 <= given[name] <= 10_000.0:
            option = f"--{name.replace('_', '-')}"
            faults.append(Fault("", option, f"{given[name]:g} cannot be", "give 0.1 to 10,000"))
    if given["material"] is None and any(
        given[name] is not None for name in ("depth", "there", "bale_covers", "bag")
    ):
        faults.append(Fault("", "--material", "it is not given", "say what beds are covered with"))
    if faults:
        raise InputFaultsError(faults)
    if given["material"] is None:
        return None
    return Covering(
        given["material"],
        depths["depth"],
        depths["there"] or 0.0,
        given["bale_covers"],
        given["bag"],
    )


def _print(result: Mapping[str, Any]) -> None:
    totals = result["totals"]
    rows = [
        (
            bed["property"],
            bed["zone"],
            (bed["bed_type"] or "not known").replace("_", " "),
            f"{bed['area_sqft']:,.0f}",
            f"{bed['edging_ft']:,.0f}",
            _cover(bed["cover"]),
        )
        for bed in result["beds"]
    ]
    rows.append(
        (
            "All",
            "",
            "",
            f"{totals['area_sqft']:,.0f}",
            f"{totals['edging_ft']:,.0f}",
            _cover(totals["cover"]),
        )
    )
    headings = ("Property", "Bed", "What grows there", "Square feet", "Edge, ft", "Cover")
    screen.print_table(result["material"] or "Beds", headings, rows, numbers=(3, 4))
    screen.print_lines(_plants(result["beds"]), heading="Pruning and cutting back")
    week = f"From {_day(result['as_of'])} to {_day(result['until'])}"
    screen.print_lines(_week(result["beds"]), heading=week)
    tender = [
        f"{one['property']} / {one['zone']}: {one['plant'] or 'frost-tender perennials'}."
        for one in result["tender"]
    ]
    screen.print_lines(tender, heading="Frost kills the tops of")
    screen.print_lines(result["cautions"], heading="Caution")


def _cover(cover: Mapping[str, Any] | None) -> str:
    if cover is None:
        return ""
    many = "" if cover["to_buy"] == 1 else "s"
    exact = "" if cover["cubic_yards"] is None else f" ({cover['cubic_yards']:.2f} cubic yards)"
    return f"{cover['to_buy']:,} {cover['unit']}{many}{exact}"


def _plants(found: Sequence[Mapping[str, Any]]) -> list[str]:
    return [
        f"{bed['property']} / {bed['zone']}: {counted(plant)}:"
        f" {plant_words(plant, state=plant['state'] or '')}"
        for bed in found
        for plant in bed["plants"]
    ]


def _week(found: Sequence[Mapping[str, Any]]) -> list[str]:
    beds_of: dict[tuple[str, str], list[str]] = {}
    for bed in found:
        for task in bed["week"]:
            key = (task["title"], task["state"])
            beds_of.setdefault(key, []).append(f"{bed['property']} / {bed['zone']}")
    return [
        f"{title} ({state}): {', '.join(names[:4])}"
        + (f" and {len(names) - 4} more." if len(names) > 4 else ".")
        for (title, state), names in beds_of.items()
    ]


def _day(text: str) -> str:
    return day_words(iso_date(text, record=""))
