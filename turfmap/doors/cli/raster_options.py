"""Options of the commands that read rasters, each written once."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import click

from turfmap.doors import parameters
from turfmap.doors.cli import options
from turfmap.foundations.errors import input_fault
from turfmap.foundations.grid import RESAMPLING, VERTICAL_UNITS
from turfmap.foundations.units import number


def heights(name: str, words: str) -> Callable[[options.Command], options.Command]:
    """Add an option for a raster of heights, its unit, its day and its resampling."""
    made = (
        click.option(
            "--raster-date",
            type=parameters.DateParameter(),
            metavar="YYYY-MM-DD",
            help="The day of its heights, where the file does not say it.",
        ),
        click.option(
            "--resampling",
            type=click.Choice(RESAMPLING),
            default=RESAMPLING[0],
            show_default=True,
            help="How the raster is moved onto the ground's plane.",
        ),
        click.option(
            "--vertical-unit",
            type=click.Choice(list(VERTICAL_UNITS)),
            help="What the raster's heights are in. It is asked for and never guessed.",
        ),
        click.option(name, type=parameters.FILE, metavar="HEIGHTS.tif", help=words),
    )

    def with_options(command: options.Command) -> options.Command:
        for option in made:
            command = option(command)
        return command

    return with_options


def vertical_unit(given: Mapping[str, Any]) -> str:
    """Return what heights are in.

    Raises
    ------
    InputFaultsError
        If it was not said.
    """
    unit = given["vertical_unit"]
    if unit is None:
        raise input_fault(
            "it is not said whether the raster's heights are in metres or feet",
            "give --vertical-unit m or --vertical-unit ft",
            record="--vertical-unit",
        )
    return str(unit)


def refuse_without_raster(given: Mapping[str, Any], name: str, needing: Sequence[str]) -> None:
    """Refuse options that would do nothing for want of a raster.

    Raises
    ------
    InputFaultsError
        For the first of them.
    """
    for option in needing:
        if given[option] is not None:
            raise input_fault(
                f"it does nothing without {name}",
                f"give {name}, or leave it out",
                record=f"--{option.replace('_', '-')}",
            )


def percent(text: str, *, record: str) -> float:
    """Read a percentage above 0, such as ``20%``.

    Raises
    ------
    InputFaultsError
        If it is none.
    """
    value = number(text.strip().removesuffix("%"), record=record)
    if not 0.0 < value <= 1_000.0:
        raise input_fault(f"{text!r} is not a slope", "write it as 20%", record=record)
    return value


def per_cent(value: float | None, *, of: float = 1.0) -> str:
    """Return a percentage in words; a share with ``of=100``."""
    return "not known" if value is None else f"{value * of:,.1f} %"
