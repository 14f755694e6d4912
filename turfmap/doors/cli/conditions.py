"""What is given for the hour of the work: options that check, the crew page and the sheet share."""

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

import click

from turfmap.days.conditions import METHODS, SPREADER, Conditions
from turfmap.desk import check_asked
from turfmap.desk.protected import Overrides
from turfmap.doors import parameters
from turfmap.doors.cli import options
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault

Command = TypeVar("Command", bound=Callable[..., Any])
Read = TypeVar("Read")

_TEXTS = (
    ("on", "2026-10-03T08:00", "Day and time of the work; without one, nothing is a go."),
    ("wind", "WIND", 'Such as "6 mph NW", "4 mph variable" or calm.'),
    ("gust", "SPEED", 'Such as "9 mph".'),
    ("arc", "DEGREES", "How far the wind may swing, the full width; usually 45, 360 all round."),
    ("droplet", "CLASS", "Droplet class of nozzle and pressure, such as coarse."),
    ("nozzle-height", "HEIGHT", "Of the nozzles above the grass, such as 20in."),
    ("air", "DEGREES", "Air temperature, such as 71F."),
    ("rain", "WORDS", 'Such as "none until 2026-10-03T14:00", or now.'),
    ("dry-hours", "HOURS", "Hours for which it stays dry, instead of --rain."),
    ("school-notice", "2026-09-30T08:00", "When notice was given to the school."),
)
_OTHERS = (
    click.option(
        "--inversion",
        type=click.Choice(["none", "suspected"]),
        help="As somebody on the spot sees it: does smoke or dust hang in a layer?",
    ),
    click.option(
        "how",
        "--method",
        type=click.Choice([*METHODS, "deflector"]),
        help="How it is applied; deflector: a spreader with one, or a drop spreader.",
    ),
    parameters.weather_file,
    click.option(
        "forecast_file",
        "--forecast",
        type=parameters.FILE,
        metavar="FILE.csv",
        help="A forecast; an hourly one tells of wind, air and rain where nobody said.",
    ),
    click.option(
        "setbacks",
        "--setback",
        multiple=True,
        metavar="CATEGORY=DISTANCE",
        help="Distance for this run, such as pond=25ft.",
    ),
    click.option(
        "--margin", metavar="DISTANCE", help="Position margin for every edge in this run."
    ),
    click.option(
        "reductions",
        "--reduction",
        multiple=True,
        metavar="MEASURE=PERCENT",
        help="What the label lets a measure against drift take off (hood=25%).",
    ),
)


def condition_options(command: Command) -> Command:
    """Add what `read_conditions` and `read_overrides` read."""
    for option in reversed(_OTHERS):
        command = option(command)
    for name, metavar, text in reversed(_TEXTS):
        command = click.option(f"--{name}", metavar=metavar, help=text)(command)
    return command


def read_conditions(given: Mapping[str, Any]) -> Conditions:
    """Read what is known of the hour.

    Raises
    ------
    InputFaultsError
        With everything that is not understood.
    """
    if given["rain"] is not None and given["dry_hours"] is not None:
        raise input_fault("both --rain and --dry-hours are given", "give one of them")
    how = SPREADER if given["how"] == "deflector" else given["how"]
    return check_asked.read_conditions({**given, "method": how})


def read_overrides(given: Mapping[str, Any]) -> Overrides:
    """Read the distances and margins of this run.

    Raises
    ------
    InputFaultsError
        With one fault for each that is not understood.
    """
    method = "deflector" if given["how"] == "deflector" else None
    return options.overrides({**given, "work_kind": None, "method": method})


def collected(
    faults: list[Fault], reader: Callable[[Mapping[str, Any]], Read], given: Mapping[str, Any]
) -> Read | None:
    """Read a part of the options, keeping its faults for one list of all."""
    try:
        return reader(given)
    except InputFaultsError as error:
        faults += error.faults
        return None
