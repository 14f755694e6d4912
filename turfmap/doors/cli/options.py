"""Options and arguments that several commands share, each written once."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeVar

import click

from turfmap.desk.protected import Overrides, protected_kinds
from turfmap.doors import parameters
from turfmap.doors.cli import completing
from turfmap.foundations.definitions import table
from turfmap.foundations.errors import Fault, InputFaultsError
from turfmap.foundations.units import metres

Command = TypeVar("Command", bound=Callable[..., Any])


def place_file(command: Command) -> Command:
    """Take the user's GeoPackage as first argument."""
    return click.argument("place", metavar="PLACE.gpkg", type=parameters.FILE)(command)


def as_json(command: Command) -> Command:
    """Add ``--json``."""
    option = click.option("as_json", "--json", is_flag=True, help="Print JSON instead of a table.")
    return option(command)


def only_property(command: Command) -> Command:
    """Add ``--property``."""
    option = click.option(
        "property_name",
        "--property",
        metavar="NAME",
        shell_complete=completing.properties,
        help="Only this property.",
    )
    return option(command)


def as_of(command: Command) -> Command:
    """Add ``--as-of``; the same question on the same day always has the same answer."""
    option = click.option(
        "--as-of",
        type=parameters.DateParameter(),
        required=True,
        metavar="YYYY-MM-DD",
        help="The day to judge by.",
    )
    return option(command)


def setback_options(command: Command) -> Command:
    """Add ``--product`` and what `overrides` reads: distances, margin, reductions, work."""
    for option in (
        click.option(
            "work_kind",
            "--work",
            type=click.Choice(["spray", "fertilise"]),
            help="For rules that are written for one of them.",
        ),
        click.option(
            "method",
            "--method",
            type=click.Choice(["deflector"]),
            help="A way of applying that some rules let come closer (or a drop spreader).",
        ),
        click.option(
            "margin",
            "--margin",
            metavar="DISTANCE",
            help="Position margin for every edge in this run, instead of the columns' (0ft: none).",
        ),
        click.option(
            "setbacks",
            "--setback",
            multiple=True,
            metavar="CATEGORY=DISTANCE",
            help="Distance for this run, such as pond=25ft, water=50ft or sensitive_site=30ft.",
        ),
        click.option(
            "reductions",
            "--reduction",
            multiple=True,
            metavar="MEASURE=PERCENT",
            help="What the label lets a measure against drift take off (hood=25%); they add.",
        ),
        click.option(
            "--product",
            metavar="NAME",
            shell_complete=completing.products,
            help="What will be applied: a product of the place, or an active ingredient.",
        ),
    ):
        command = option(command)
    return command


def overrides(given: Mapping[str, Any]) -> Overrides:
    """Read what `setback_options` gave.

    Raises
    ------
    InputFaultsError
        With one fault for each that is not understood.
    """
    groups = {
        "water": [row["kind"] for row in table("water_kind").rows],
        "sensitive_site": [row["kind"] for row in table("sensitive_kind").rows],
    } | {kind: [kind] for kind in protected_kinds()}
    found: dict[str, float] = {}
    faults: list[Fault] = []
    # A category named by itself beats the group it is in, whatever their order.
    for text in sorted(
        given["setbacks"], key=lambda text: len(groups.get(_category(text), [])), reverse=True
    ):
        category, _, distance = text.partition("=")
        if category not in groups:
            record = f"--setback {text}"
            mend = f"choose one of {', '.join(groups)}"
            faults.append(Fault("", record, f"there is no category {category!r}", mend))
            continue
        try:
            distance_m = metres(distance, record=f"--setback {category}")
        except InputFaultsError as error:
            faults += error.faults
        else:
            found |= dict.fromkeys(groups[category], distance_m)
    margin_m = None
    if given["margin"] is not None:
        try:
            margin_m = metres(given["margin"], record="--margin")
        except InputFaultsError as error:
            faults += error.faults
    reductions_pct, more_faults = _percentages(given["reductions"])
    faults += more_faults
    if faults:
        raise InputFaultsError(faults)
    return Overrides(
        found,
        margin_m,
        reductions_pct,
        kind=given["work_kind"] or "",
        method=given["method"] or "",
    )


def _percentages(texts: Sequence[str]) -> tuple[dict[str, float], list[Fault]]:
    """Read MEASURE=PERCENT, each from 0 to 100; a measure counts once."""
    found: dict[str, float] = {}
    faults = []
    for text in texts:
        name, _, number = text.partition("=")
        try:
            found[name.strip()] = float(number.strip().removesuffix("%"))
        except ValueError:
            found[name.strip()] = -1.0
        if not name.strip() or not 0.0 <= found[name.strip()] <= 100.0:
            mend = "write it as MEASURE=PERCENT, such as hood=25%"
            faults.append(Fault("", f"--reduction {text}", "it is not from 0 to 100 %", mend))
    return found, faults


def _category(text: str) -> str:
    return text.partition("=")[0]
