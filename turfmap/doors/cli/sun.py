"""``turfmap sun``."""

import datetime
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from turfmap.desk.sun import SunAsked, sun, sun_and_keep
from turfmap.desk.sun_reckoning import Season
from turfmap.doors import parameters
from turfmap.doors.cli import options, raster_options, screen
from turfmap.foundations.dates import day_words
from turfmap.foundations.units import quantity


@click.command("sun")
@options.place_file
@options.only_property
@raster_options.heights("--surface", "Heights with roofs and crowns, as a survey from the air has.")
@click.option(
    "--ground",
    type=parameters.FILE,
    metavar="HEIGHTS.tif",
    help="Heights of the bare ground. Alone, what is drawn with a height stands on it.",
)
@click.option(
    "--from", "first", type=parameters.DateParameter(), required=True, metavar="YYYY-MM-DD",
    help="First day of the growing season.",
)  # fmt: skip
@click.option(
    "--to", "last", type=parameters.DateParameter(), required=True, metavar="YYYY-MM-DD",
    help="Its last day.",
)  # fmt: skip
@click.option(
    "--step", default="15min", show_default=True, help="How far apart the sun is looked for."
)
@click.option(
    "--every", "every_days", type=click.IntRange(1, 31), default=7, show_default=True,
    help="How many days each day that is reckoned stands for.",
)  # fmt: skip
@click.option(
    "--out", type=parameters.FILE, metavar="FILE.geojson", help="Write the zones with their hours."
)
@click.option(
    "--keep",
    is_flag=True,
    help="Keep hours in the zones' columns, and a picture for the map; undo takes it back.",
)
@options.as_json
def command(
    place: Path,
    property_name: str | None,
    surface: Path | None,
    ground: Path | None,
    first: datetime.date,
    last: datetime.date,
    step: str,
    every_days: int,
    out: Path | None,
    keep: bool,
    as_json: bool,
    **given: Any,
) -> None:
    """Reckon hours of direct sun from heights, and say which grass has too few.

    Reads the place and heights. Writes what --out names, and with --keep the place.

    \b
    Examples:
      turfmap sun demo.gpkg --surface surface.tif --ground ground.tif --vertical-unit m \\
        --from 2026-04-01 --to 2026-09-30
      turfmap sun demo.gpkg --ground ground.tif --vertical-unit ft \\
        --from 2026-04-01 --to 2026-09-30 --keep
    """
    unit = raster_options.vertical_unit(given)
    asked = SunAsked(surface, ground, unit, given["resampling"], given["raster_date"])
    season = Season(first, last, _minutes(step), every_days)
    work = sun_and_keep if keep else sun
    with screen.working("Following the sun"):
        result = work(place, property_name=property_name, asked=asked, season=season, out=out)
    screen.print_json(result) if as_json else _print(result, season)


def _minutes(step: str) -> float:
    minutes = quantity(step, "minute", record="--step", example="15min")
    if not 1.0 <= minutes <= 60.0:
        raise click.BadParameter("a step has from 1 to 60 minutes", param_hint="--step")
    return minutes


def _print(result: Mapping[str, Any], season: Season) -> None:
    words = {one["shade"]: one["words"] for one in result["about"]["scheme"]["classes"]}
    rows = [
        (
            zone["property"],
            zone["zone"],
            _hours(zone["sun_hours"]),
            _hours(zone["tenth_has_under_h"]),
            words.get(zone["shade_measured"], "not known"),
            words.get(zone["shade_tagged"], ""),
            _hours(zone["minimum_sun_h"], ""),
            {True: "enough", False: "TOO LITTLE"}.get(zone["enough_sun"], ""),
        )
        for zone in result["zones"]
    ]
    days = f"{day_words(season.first)} to {day_words(season.last)}"
    headings = (
        "Property", "Zone", "Hours a day", "A tenth has under", "Measured", "Tagged",
        "Grass needs", "Sun is",
    )  # fmt: skip
    screen.print_table(f"Direct sun under a clear sky, {days}", headings, rows, numbers=(2, 3, 6))
    screen.print_lines(
        [f"Classes by: {result['about']['scheme']['name']}. Hours beat classes."],
        heading="By which scheme",
    )
    screen.print_lines(result["cautions"], heading="Caution")
    if result["out"]:
        click.echo(f"Written: {result['out']}.")
    if "kept" in result:
        click.echo(
            f"Kept in the place: hours (zones: {result['kept']:,}), and pictures of them for"
            " turfmap map."
        )


def _hours(hours: float | None, without: str = "not known") -> str:
    return without if hours is None else f"{hours:.1f}"
