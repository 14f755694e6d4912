"""``turfmap check``."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from turfmap.desk.check import LAST_WORD, CheckAsked, check, wind_of
from turfmap.desk.check_here import check_here
from turfmap.desk.here import Position, gaps, here, read_track
from turfmap.doors import parameters
from turfmap.doors.cli import completing, conditions, options, screen
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.foundations.units import metres, number

POSITIONS_SHOWN = 60


@click.command("check")
@options.place_file
@options.only_property
@click.option("--zone", metavar="ZONE", shell_complete=completing.zones, help="Only this zone.")
@click.option(
    "--product", metavar="NAME", shell_complete=completing.products, help="What would be applied."
)
@conditions.condition_options
@click.option("--at", "at", metavar="LON,LAT", help="Where you stand: stop, unsure or outside.")
@click.option("--accuracy", metavar="DISTANCE", help="How well that is known, such as 5m.")
@click.option(
    "--track", type=parameters.FILE, metavar="FILE.gpx", help="Every position of a track."
)
@options.as_json
def command(place: Path, as_json: bool, **given: Any) -> None:
    """May I treat here, now, with this? Go, wait or no for each zone, with reasons.

    What is not known is asked, and what is asked waits. With --at or --track: stop, unsure or
    outside no-spray ground for each position.

    Reads the place, and weather, forecast and track where they are given. Writes nothing.

    \b
    Examples:
      turfmap check demo.gpkg --property "Larkspur Hollow" --product "Broadleaf three-way" \\
        --on 2026-10-03T08:00 --wind "6 mph NW" --droplet coarse --air 71F --dry-hours 6
      turfmap check demo.gpkg --product atrazine --at -82.9286,33.5210 --accuracy 5m
    """
    result = _answer(place, given)
    screen.print_json(result) if as_json else _print(result)


def _answer(place: Path, given: Mapping[str, Any]) -> dict[str, Any]:
    faults: list[Fault] = []
    if given["product"] is None:
        faults.append(Fault("", "--product", "it is not given", "name a product of the book"))
    of_the_hour = conditions.collected(faults, conditions.read_conditions, given)
    overrides = conditions.collected(faults, conditions.read_overrides, given)
    positions = conditions.collected(faults, _positions, given)
    if faults or of_the_hour is None or overrides is None:
        raise InputFaultsError(faults)
    asked = CheckAsked(
        given["property_name"],
        given["product"],
        of_the_hour,
        given["zone"],
        given["weather_file"],
        given["forecast_file"],
    )
    if positions and given["track"] is None:
        found = check_here(place, asked, positions[0], overrides=overrides)
    elif positions:
        found = here(
            place,
            positions,
            product=asked.product,
            property_name=asked.property_name,
            wind=wind_of(of_the_hour),
            overrides=overrides,
        )
        left_out = gaps([(one.longitude, one.latitude) for one in positions])
        found["cautions"] = [*found["cautions"], *left_out]
    else:
        found = check(place, asked, overrides=overrides)
    return found | {"last_word": LAST_WORD}


def _positions(given: Mapping[str, Any]) -> list[Position]:
    accuracy_m = None
    if given["accuracy"] is not None:
        accuracy_m = metres(given["accuracy"], record="--accuracy")
    if given["at"] is not None and given["track"] is not None:
        raise input_fault("both --at and --track are given", "give one of them")
    if given["track"] is not None:
        return [Position(*one, accuracy_m) for one in read_track(given["track"])]
    if given["at"] is None:
        return []
    # A place that is typed is pointed at, as a tap on the page is.
    return [Position(*_lon_lat(given["at"]), 0.0 if accuracy_m is None else accuracy_m)]


def _lon_lat(text: str) -> tuple[float, float]:
    parts = [number(part, record="--at") for part in text.split(",")]
    if len(parts) != 2 or abs(parts[0]) > 180.0 or abs(parts[1]) > 90.0:
        raise input_fault(
            f"{text[:60]!r} is no place", "write longitude,latitude in degrees", record="--at"
        )
    return parts[0], parts[1]


def _print(result: Mapping[str, Any]) -> None:
    if result.get("positions"):
        _print_positions(result["positions"])
    if result.get("product"):
        rows = [
            (zone["answer_words"], zone["zone"], f"{zone['treatable_sqft']:,.0f}", _first(zone))
            for zone in result["zones"]
        ]
        title = f"{result['property']}: {result['product']}, {result['on'] or 'time not given'}"
        screen.print_table(title, ("Answer", "Zone", "Square feet", "Because"), rows, numbers=(2,))
        for zone in result["zones"]:
            _print_zone(zone)
        screen.print_lines(_besides(result), heading="Besides")
    screen.print_lines(result["cautions"], heading="Caution")
    screen.print_lines([result["last_word"]], heading="Last word")


def _first(zone: Mapping[str, Any]) -> str:
    more = len(zone["reasons"]) - 1
    return f"{zone['reasons'][0]} (and {more} more)" if more > 0 else str(zone["reasons"][0])


def _print_zone(zone: Mapping[str, Any]) -> None:
    name = f"{zone['answer_words']}: {zone['zone']}"
    screen.print_lines(zone["reasons"], heading=name)
    if zone["answer"] != "go":
        screen.print_lines(zone["would_change"], heading=f"What would change {zone['zone']}")
    screen.print_lines(zone["mind"], heading=f"To be minded on {zone['zone']}")
    screen.print_lines(zone["sources"], heading=f"Sources for {zone['zone']}")


def _besides(result: Mapping[str, Any]) -> list[str]:
    return [result["wind_words"], result["keep_off"], *result["posting"], *result["school"]]


def _print_positions(positions: Sequence[Mapping[str, Any]]) -> None:
    rows = [
        (
            f"{one['longitude']:.6f}, {one['latitude']:.6f}",
            one["words"],
            one["distance_words"],
            one["reason"],
            one["zone"] or ("" if one["property"] is None else "outside every zone"),
        )
        for one in positions[:POSITIONS_SHOWN]
    ]
    screen.print_table("Where you stand", ("Position", "", "Edge", "Because of", "Zone"), rows)
    counts = dict.fromkeys(("stop", "unsure", "outside"), 0)
    for one in positions:
        counts[one["state"]] += 1
    screen.print_lines(
        [f"{count:,} {state}" for state, count in counts.items() if count], heading="In all"
    )
