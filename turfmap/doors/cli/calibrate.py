"""``turfmap calibrate``."""

from collections.abc import Sequence

import click

from turfmap.desk import calibrate
from turfmap.doors.cli import options, screen


@click.group("calibrate")
def command() -> None:
    """Calibrate a sprayer or a spreader from what was caught and timed.

    Reads and writes no file.

    \b
    Examples:
      turfmap calibrate nozzle --flow "0.4 gal/min" --speed "3 mph" --width 20in
      turfmap calibrate course --width 20in --caught "20 fl oz" --seconds 35
      turfmap calibrate spreader --wanted "5 lb/1000sqft" --run "12=1.5 lb/100 sq ft"
      turfmap calibrate swath --pan -6ft=4 --pan -3ft=9 --pan 0ft=10 --pan 3ft=9 --pan 6ft=4
    """


@command.command("nozzle")
@click.option("--flow", metavar="FLOW", help="Of a nozzle, or of the whole boom: 0.4 gal/min.")
@click.option("--speed", metavar="SPEED", help="Such as 3 mph.")
@click.option("--width", required=True, metavar="DISTANCE", help="Of what that flow covers.")
@click.option("--volume", metavar="RATE", help="Spray volume, such as 40 gal/acre.")
@options.as_json
def nozzle(
    flow: str | None, speed: str | None, width: str, volume: str | None, as_json: bool
) -> None:
    """Find the third of flow, speed and spray volume from the other two.

    \b
    Example:
      turfmap calibrate nozzle --speed "3 mph" --width 20in --volume "40 gal/acre"
    """
    result = calibrate.nozzle(flow=flow, speed=speed, width=width, volume=volume)
    if as_json:
        screen.print_json(result)
        return
    volume_words = (
        f"{result['gallons_per_acre']:.4g} gal/acre"
        f" ({result['gallons_per_1000_sq_ft']:.3g} gal/1000 sq ft)"
    )
    speed_words = f"{result['speed_mph']:.3g} mph ({result['speed_ft_per_min']:.4g} ft/min)"
    click.echo(f"{volume_words} at {result['flow_gpm']:.3g} gal/min and {speed_words}.")


@command.command("course")
@click.option("--width", required=True, metavar="DISTANCE", help="Between nozzles, or of a band.")
@click.option("--caught", metavar="VOLUME", help="In the time of the course, from that width.")
@click.option("--seconds", type=float, help="That the course took.")
@options.as_json
def course(width: str, caught: str | None, seconds: float | None, as_json: bool) -> None:
    """Measure the spray volume on a course of 1/128 acre: fluid ounces are gallons an acre.

    \b
    Example:
      turfmap calibrate course --width 20in
    """
    result = calibrate.course(width=width, caught=caught, seconds=seconds)
    if as_json:
        screen.print_json(result)
        return
    click.echo(f"Lay out {result['course_ft']:.1f} ft, walk or drive it, and note the seconds.")
    click.echo("Then catch the same width for as long: as many fluid ounces, as many gal/acre.")
    if result["gallons_per_acre"] is not None:
        click.echo(f"That is {result['gallons_per_acre']:.4g} gal/acre.")
    if result["speed_mph"] is not None:
        click.echo(f"The speed is {result['speed_mph']:.3g} mph.")


@command.command("spreader")
@click.option("--wanted", required=True, metavar="RATE", help="Of product: 5 lb/1000sqft.")
@click.option(
    "--run",
    "runs",
    multiple=True,
    required=True,
    metavar="SETTING=CAUGHT/AREA",
    help="One run: the dial, what was caught and on what area, such as 12=1.5 lb/100 sq ft.",
)
@options.as_json
def spreader(wanted: str, runs: Sequence[str], as_json: bool) -> None:
    """Find the spreader's setting between calibration runs; nothing is guessed beyond them.

    \b
    Example:
      turfmap calibrate spreader --wanted "5 lb/1000sqft" --run "10=0.4 lb/100 sq ft" \\
        --run "14=0.6 lb/100 sq ft"
    """
    result = calibrate.spreader(wanted=wanted, runs=runs)
    if as_json:
        screen.print_json(result)
        return
    for run in result["runs"]:
        near = "within 5 %" if run["is_near"] else "not within 5 %"
        click.echo(f"Setting {run['setting']:g}: {run['lb_per_1000_sq_ft']:.4g} lb, {near}.")
    setting = result["setting"]
    if setting is None:
        click.echo("The runs do not lie around the wanted rate: run again, lower or higher.")
    else:
        click.echo(f"Try {setting:.3g} and run again; then half of it in each of two passes.")


@command.command("swath")
@click.option(
    "pans",
    "--pan",
    multiple=True,
    required=True,
    metavar="PLACE=WEIGHT",
    help="A pan across the path: how far right of the middle (left: -4ft) and what it caught.",
)
@options.as_json
def swath(pans: Sequence[str], as_json: bool) -> None:
    """Find how far apart the passes of a spreader lie, from a row of pans across one pass.

    \b
    Example:
      turfmap calibrate swath --pan -6ft=4 --pan -3ft=9 --pan 0ft=10 --pan 3ft=9 --pan 6ft=4
    """
    result = calibrate.swath(pans)
    if as_json:
        screen.print_json(result)
    elif result["swath_ft"] is None:
        click.echo("No pan holds less than half of the middle one: set the row of pans out wider.")
    else:
        click.echo(f"The effective swath is {result['swath_ft']:.3g} ft: as far apart the passes.")
