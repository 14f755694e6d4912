"""Options of what a crew takes along: the crew page and the day sheet share them."""

import datetime
from collections.abc import Callable, Mapping
from typing import Any, TypeVar

import click

from turfmap.days.load_sheet import Equipment
from turfmap.days.quantities import rate, volume
from turfmap.desk.protected import Overrides
from turfmap.desk.visit_load import LoadAsked
from turfmap.desk.visit_plan import PlanAsked
from turfmap.doors.cli import completing, conditions, screen
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault

Command = TypeVar("Command", bound=Callable[..., Any])
# A day without an hour is judged at noon, and nothing is a go.
NO_HOUR = "T12:00"

_OPTIONS = (
    click.option(
        "properties",
        "--property",
        multiple=True,
        metavar="NAME",
        shell_complete=completing.properties,
        help="A property of the day, in their order; may be given again.",
    ),
    click.option(
        "--product",
        metavar="NAME",
        shell_complete=completing.products,
        help="What will be applied.",
    ),
    click.option("--rate", metavar="RATE", help="Such as 3 fl oz/1000sqft, 1 lb ai/acre."),
    click.option(
        "--target", metavar="TARGET", help="What it is for, where the label's rates differ."
    ),
    click.option("--carrier", metavar="RATE", help="Spray volume, such as 1 gal/1000sqft."),
    click.option("--tank", metavar="VOLUME", help="What the tank holds, such as 100gal."),
)


def visit_options(command: Command) -> Command:
    """Add what `read_asked` reads."""
    command = conditions.condition_options(command)
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


def read_asked(given: Mapping[str, Any]) -> tuple[PlanAsked, Overrides]:
    """Read what a plan is made for.

    Raises
    ------
    InputFaultsError
        With everything that is not understood.
    """
    faults: list[Fault] = []
    knows_hour = not _is_day(given["on"])
    timed = given if knows_hour else {**given, "on": given["on"].strip() + NO_HOUR}
    of_the_hour = conditions.collected(faults, conditions.read_conditions, timed)
    overrides = conditions.collected(faults, conditions.read_overrides, given)
    load = conditions.collected(faults, _load, given)
    if given["on"] is None:
        faults.append(Fault("", "--on", "it is not given", "such as 2026-10-03T08:00"))
    if faults or of_the_hour is None or overrides is None or load is None:
        raise InputFaultsError(faults)
    weather = given["weather_file"], given["forecast_file"]
    return PlanAsked(given["product"], of_the_hour, load, *weather, knows_hour), overrides


def _is_day(text: str | None) -> bool:
    try:
        return bool(text) and bool(datetime.date.fromisoformat((text or "").strip()))
    except ValueError:
        return False


def _load(given: Mapping[str, Any]) -> LoadAsked:
    readers: dict[str, Callable[..., Any]] = {"rate": rate, "carrier": rate, "tank": volume}
    found: dict[str, Any] = {}
    faults: list[Fault] = []
    for name, reader in readers.items():
        try:
            text = given[name]
            found[name] = None if text is None else reader(text, record=f"--{name}")
        except InputFaultsError as error:
            faults += error.faults
    if faults:
        raise InputFaultsError(faults)
    equipment = Equipment(found["carrier"], found["tank"])
    if equipment.tank is not None and equipment.carrier is None:
        mend = 'add --carrier, such as "1 gal/1000 sq ft"'
        raise input_fault("how far a tank goes is not known", mend, record="--tank")
    return LoadAsked(equipment, found["rate"], given["target"])


def print_plans(result: Mapping[str, Any]) -> None:
    """Print what was found for each property, and where it was written."""
    for one in result["properties"]:
        rows = [(zone["answer"].upper(), zone["zone"], _first(zone)) for zone in one["zones"]]
        screen.print_table(one["property"], ("Answer", "Zone", "Because"), rows)
        screen.print_lines(one["load_faults"], heading="No load")
        screen.print_lines(one["cautions"], heading="Caution")
    click.echo(f"Written: {result['out']} ({result['bytes'] / 1000:,.0f} kB).")


def _first(zone: Mapping[str, Any]) -> str:
    more = len(zone["reasons"]) - 1
    first = zone["reasons"][0] if zone["reasons"] else ""
    return f"{first} (and {more} more)" if more > 0 else str(first)
