"""What both doors take from the command line: a day, a file, daily weather."""

import datetime
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from turfmap.foundations.dates import iso_date

Command = TypeVar("Command", bound=Callable[..., Any])

FILE = click.Path(path_type=Path, dir_okay=False)


class DateParameter(click.ParamType[datetime.date]):
    """A date written YYYY-MM-DD."""

    name = "date"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> datetime.date:
        """Read the date, or refuse it in one sentence."""
        if isinstance(value, datetime.date):
            return value
        return iso_date(value, record=f"--{param.name}".replace("_", "-") if param else "")


def weather_file(command: Command) -> Command:
    """Add ``--weather``."""
    option = click.option(
        "weather_file",
        "--weather",
        type=FILE,
        metavar="FILE.csv",
        help="Daily weather: date, air_min_f or air_min_c, air_max_…, rain_in or rain_mm.",
    )
    return option(command)
