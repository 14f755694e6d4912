"""``turfmap mix``."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, TypeVar

import click

from turfmap.days.load_sheet import Equipment
from turfmap.days.quantities import rate, volume
from turfmap.days.watering_in import precipitation
from turfmap.desk.mix import Asked, mix
from turfmap.doors import parameters
from turfmap.doors.cli import completing, options, screen
from turfmap.foundations.errors import Fault, InputFaultsError

Read = TypeVar("Read")
# So many zones are named of those that one reason keeps out of a load.
NAMES_SHOWN = 4


@click.command("mix")
@options.place_file
@click.option(
    "properties",
    "--property",
    multiple=True,
    metavar="NAME",
    shell_complete=completing.properties,
    help="All zones of this property. May be given again.",
)
@click.option(
    "zones",
    "--zone",
    multiple=True,
    metavar="ZONE",
    shell_complete=completing.zones,
    help="Only this zone: its name, PROPERTY / ZONE or id. May be given again.",
)
@click.option(
    "--task",
    metavar="TASK",
    shell_complete=completing.tasks,
    help="Only where this task is due on the day.",
)
@options.setback_options
@click.option(
    "--on", type=parameters.DateParameter(), metavar="YYYY-MM-DD", help="Day of the load."
)
@click.option("--rate", metavar="RATE", help="Such as 3 fl oz/1000sqft, 1 lb ai/acre.")
@click.option("--target", metavar="TARGET", help="What it is for, where the label's rates differ.")
@click.option("--carrier", metavar="RATE", help="Spray volume, such as 1 gal/1000sqft.")
@click.option("--tank", metavar="VOLUME", help="What the tank holds, such as 100gal.")
@click.option("--precipitation", metavar="RATE", help="Of the sprinklers, such as 0.5in/h.")
@options.as_json
def command(
    place: Path,
    properties: Sequence[str],
    zones: Sequence[str],
    product: str | None,
    as_json: bool,
    **given: Any,
) -> None:
    """Work out a load: how much product, water and tanks, and which zones it may touch.

    For the zones or properties that you name; or, with a day alone, for every zone on which that
    day a task is due that the product serves. A load that breaks a limit of the label is refused
    with the sum shown. What the book does not hold is asked, never taken for nothing.

    Reads the place. Writes nothing.

    \b
    Examples:
      turfmap mix demo.gpkg --on 2026-09-24 --product "Autumn barrier, granular"
      turfmap mix demo.gpkg --property "Larkspur Hollow" --product "Broadleaf three-way" \\
        --on 2026-09-24
      turfmap mix demo.gpkg --zone "Larkspur Hollow / Front lawn east" \\
        --product "Broadleaf three-way" --on 2026-09-24 \\
        --carrier "1 gal/1000sqft" --tank 100gal
    """
    faults: list[Fault] = []
    if product is None:
        faults.append(Fault("", "--product", "it is not given", "name a product of the book"))
    wanted = _read(given, faults, "rate", rate)
    equipment = Equipment(
        _read(given, faults, "carrier", rate),
        _read(given, faults, "tank", volume),
        _read(given, faults, "precipitation", precipitation),
    )
    if faults:
        raise InputFaultsError(faults)
    asked = Asked(
        product or "",
        tuple(properties),
        tuple(zones),
        wanted,
        given["target"],
        given["on"],
        given["task"],
    )
    result = mix(
        place,
        asked,
        equipment=equipment,
        overrides=options.overrides(given),
    )
    screen.print_json(result) if as_json else _print(result)


def _read(
    given: Mapping[str, Any], faults: list[Fault], option: str, reader: Callable[..., Read]
) -> Read | None:
    """Read one option, keeping its faults for one list of all."""
    text = given[option]
    try:
        return None if text is None else reader(text, record=f"--{option}")
    except InputFaultsError as error:
        faults += error.faults
        return None


def _print(result: Mapping[str, Any]) -> None:
    for load in result["loads"]:
        rows = [_zone(zone) for zone in load["zones"]]
        rows.append(("All", "", "", f"{load['area_sqft']:,.0f}", load["exact"]["words"]))
        title = f"{result['product']} at {load['rate']}: this mix may touch"
        screen.print_table(title, _HEADINGS, rows, numbers=(3,))
        screen.print_lines(_lines(load))
    screen.print_lines(_bought(result), heading="In all")
    screen.print_lines(_left_out(result["left_out"]), heading="Not on")
    screen.print_lines(_sums(result), heading="Sums of the year")
    screen.print_lines(result["asks"], heading="To be answered before anybody goes")
    screen.print_lines(result["cautions"], heading="Caution")


_HEADINGS = ("Property", "Zone", "Grass", "Square feet", "Product")


def _zone(zone: Mapping[str, Any]) -> Sequence[str]:
    grass = (zone["species"] or "").replace("_", " ")
    square_feet = f"{zone['treatable_sqft']:,.0f}"
    return zone["property"], zone["zone"], grass, square_feet, zone["exact"]["words"]


def _lines(load: Mapping[str, Any]) -> list[str]:
    lines = []
    spray, water_in, nutrients = load["spray"], load["water_in"], load["nutrients"]
    if spray:
        lines.append(f"Spray {spray['volume']['words']}, of it water {spray['water']['words']}.")
        lines += _tanks(spray["tanks"]) if spray["tanks"] else []
    if water_in:
        words = f"Water in with {water_in['depth_in']:g} in: {water_in['volume']['words']}"
        run = water_in["minutes"]
        lines.append(f"{words}, {run:.0f} minutes." if run else f"{words}.")
    if nutrients and nutrients["nitrogen_lb_per_1000_sq_ft"] is not None:
        fed = ", ".join(
            f"{words} {nutrients[f'{name}_lb_per_1000_sq_ft']:.3g}"
            for name, words in _NUTRIENTS.items()
        )
        lines.append(f"Fed, lb/1000 sq ft: {fed}.")
    return lines


_NUTRIENTS = {
    "nitrogen": "nitrogen (N)",
    "phosphate": "phosphate (P2O5)",
    "phosphorus": "of it phosphorus (P)",
    "potash": "potash (K2O)",
    "potassium": "of it potassium (K)",
}


def _tanks(tanks: Mapping[str, Any]) -> list[str]:
    lines = []
    if tanks["full"]:
        each = tanks["each_full"]
        lines.append(
            f"{tanks['full']} full: {each['product']['words']} of product in each, for"
            f" {each['covers_sqft']:,.0f} sq ft."
        )
    part = tanks["part"]
    if part:
        lines.append(
            f"1 filled to {part['volume']['words']}: {part['product']['words']} of product, for"
            f" {part['covers_sqft']:,.0f} sq ft."
        )
    return lines


def _bought(result: Mapping[str, Any]) -> list[str]:
    bought = result["purchase"]
    packs = f"{bought['packs']} of {bought['pack']}: " if bought["packs"] is not None else ""
    return [
        f"Exactly {result['exact']['words']}.",
        f"To buy: {packs}{bought['words']}; {result['left_over']['words']} is left over.",
    ]


def _left_out(left: Sequence[Mapping[str, Any]]) -> list[str]:
    """Say once what keeps many zones out; ``--json`` names them all."""
    zones: dict[str, list[str]] = {}
    for one in left:
        zones.setdefault("; ".join(one["why"]).rstrip("."), []).append(
            f"{one['property']} / {one['zone']}"
        )
    return [
        f"{', '.join(names[:NAMES_SHOWN])}"
        + (f" and {len(names) - NAMES_SHOWN} more" if len(names) > NAMES_SHOWN else "")
        + f": {why}{'' if why.endswith('?') else '.'}"
        for why, names in zones.items()
    ]


def _sums(result: Mapping[str, Any]) -> list[str]:
    lines = []
    for load in result["loads"]:
        for zone in load["zones"]:
            for one in zone["actives"]:
                most = one["annual_max_lb_per_acre"]
                allowed = "maximum not known" if most is None else f"at most {most:g}"
                said = one["arithmetic"] or "not known"
                name = one["active_ingredient"]
                lines.append(f"{zone['property']} / {zone['zone']}, {name}: {said} ({allowed}).")
    return lines
