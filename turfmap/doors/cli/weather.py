"""``turfmap weather``."""

import datetime
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import click

from turfmap.desk.weather import Given
from turfmap.desk.weather_outlook import MOST_DAYS, Ahead, weather_outlook
from turfmap.doors import parameters
from turfmap.doors.cli import options, screen
from turfmap.foundations.dates import day_words, iso_date
from turfmap.season.weather_gaps import LinearFill

SENSORS = {"soil_2in": "2 in", "soil_4in": "4 in"}


@click.command("weather")
@options.place_file
@options.as_of
@parameters.weather_file
@options.only_property
@click.option(
    "forecast_file",
    "--forecast",
    type=parameters.FILE,
    metavar="FILE.csv",
    help="Forecast, by the hour for hours to spray in: time, air_f, rain_in, wind_mph, gust_mph.",
)
@click.option(
    "fill_days",
    "--fill",
    type=click.IntRange(1, 30),
    metavar="DAYS",
    help="Lay straight lines over gaps of at most so many days; rain is never filled.",
)
@click.option(
    "--days",
    type=click.IntRange(1, MOST_DAYS),
    default=5,
    show_default=True,
    help="How many days to look at.",
)
@click.option(
    "utc_offset_h",
    "--utc-offset",
    type=click.FloatRange(-12.0, 14.0),
    metavar="HOURS",
    help="How far the forecast's clock is ahead of UTC; without it every likely clock is minded.",
)
@options.as_json
def command(
    place: Path,
    as_of: datetime.date,
    property_name: str | None,
    as_json: bool,
    **more: Any,
) -> None:
    """Tell the hours to spray in, the odds of freezes, the soil's warmth and what is not known.

    Reads the place, and weather and forecast where they are given. Writes nothing.

    \b
    Examples:
      turfmap weather demo.gpkg --as-of 2026-10-03 --forecast hours.csv
      turfmap weather demo.gpkg --as-of 2026-10-03 --weather record.csv --fill 3
    """
    fill = LinearFill(more["fill_days"]) if more["fill_days"] else None
    given = Given(more["weather_file"], more["forecast_file"], fill)
    ahead = Ahead(as_of, more["days"], more["utc_offset_h"])
    with screen.working("Reading the weather"):
        result = weather_outlook(place, ahead, given=given, property_name=property_name)
    if as_json:
        screen.print_json(result)
        return
    for station in result["stations"]:
        _print_station(station)
    screen.print_lines(result["cautions"], heading="Caution")


def _print_station(station: Mapping[str, Any]) -> None:
    name = station["station"] or "no station"
    if station["spray_days"]:
        rows = [
            (
                day["words"],
                str(day["fit_hours"]),
                ", ".join(day["spans"]),
                "; ".join(day["against"]),
            )
            for day in station["spray_days"]
        ]
        headings = ("Day", "Fit hours", "By the clock", "Against the others")
        screen.print_table(f"Hours to spray in, {name}", headings, rows, numbers=(1,))
    screen.print_table(
        f"Freezes, {name}",
        ("Freeze", "First, 1 in 10 winters by", "half", "9 in 10", "Last past in 9 in 10", "Next"),
        [_freeze(one) for one in station["freezes"]],
    )
    odds = f"The odds of freezes rest on {station['freezes'][0]['rests_on']}."
    screen.print_lines([odds, *_known(station)], heading="What is known")


def _freeze(one: Mapping[str, Any]) -> tuple[str, ...]:
    days = [one["first_by"][share] for share in ("10%", "50%", "90%")]
    days.append(one["last_by"]["90%"])
    name = f"{one['freeze']}, {one['at_or_under_f']:g} F"
    return (name, *(_words(day) for day in days), one["next_words"])


def _words(day: str | None) -> str:
    return "not known" if day is None else day_words(iso_date(day, record="day"))


def _known(station: Mapping[str, Any]) -> Iterator[str]:
    record = station["record"]
    if record["last"] is None:
        yield "There is no weather on record."
    else:
        what = "A typical year, not what happened," if record["is_typical_year"] else "The record"
        yield f"{what} runs from {_words(record['first'])} to {_words(record['last'])}."
    if record["forecast_to"]:
        yield f"The forecast runs to {_words(record['forecast_to'])}."
    for gap in station["gaps"]:
        longest = f"at most {gap['longest_d']} running"
        yield f"{gap['column']} is missing on {gap['days']} days, {longest}."
    for sensor, depth in SENSORS.items():
        mine = [one for one in station["soil"] if one["sensor"] == sensor]
        if mine:
            last = mine[-1]
            error = last["error_f"]
            how = (
                "measured" if error is None else f"estimated from the air, give or take {error:g} F"
            )
            yield f"Soil at {depth} on {_words(last['date'])}: {last['value_f']:g} F, {how}."
