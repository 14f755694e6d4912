"""``turfmap days``."""

import datetime
import signal
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from types import FrameType, ModuleType
from typing import Any

import click
from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn

from turfmap.days.quantities import rate
from turfmap.doors import parameters
from turfmap.doors.cli import completing, engine_options, options, screen
from turfmap.foundations.dates import day_words, iso_date
from turfmap.foundations.definitions import table
from turfmap.foundations.errors import input_fault
from turfmap.views.outings import weekday_words

EXTRA = "turfmap[days]"
LIBRARIES = {"pyvrp", "scipy", "osmium", "icalendar", "gpxpy"}
MOST_EFFORT = 10_000_000
WAITS = {
    "ask_first": "Ask first: no stop before that",
    "not_stops": "Held: no stop",
    "choose": "Name the product with --use",
}


@click.command("days")
@options.place_file
@click.option(
    "first",
    "--from",
    type=parameters.DateParameter(),
    required=True,
    metavar="YYYY-MM-DD",
    help="First day; what is due is judged as of it.",
)
@click.option("length", "--for", default="10d", show_default=True, help="How many days: 10d, 2w.")
@click.option(
    "--trucks", type=parameters.FILE, required=True, metavar="FILE.csv", help="One truck a line."
)
@click.option(
    "--forecast", type=parameters.FILE, metavar="FILE.csv", help="By the hour, or the day."
)
@parameters.weather_file
@click.option(
    "--roads",
    type=parameters.FILE,
    metavar="FILE.osm.pbf",
    help="An extract of the open street map; without it, times are estimated.",
)
@click.option(
    "--task",
    "tasks",
    multiple=True,
    metavar="TASK",
    shell_complete=completing.tasks,
    help="Only this; again for more.",
)
@click.option(
    "uses", "--use", multiple=True, metavar="TASK=PRODUCT", help="What a task is done with."
)
@click.option("--carrier", metavar="RATE", help="Spray on an area: 1 gal/1000 sq ft.")
@click.option(
    "what_if", "--what-if", multiple=True, metavar="NAME=VALUE", help="Suppose it; see turfmap due."
)
@click.option(
    "--announced",
    type=parameters.FILE,
    metavar="PLAN.json",
    help="An earlier plan that clients were told: its days are kept where they can be.",
)
@click.option("--seed", type=int, default=1, show_default=True, help="Where chance begins.")
@click.option(
    "--effort",
    type=click.IntRange(1, MOST_EFFORT),
    default=5_000,
    show_default=True,
    help="Steps of the search.",
)
@click.option(
    "--workers",
    type=click.IntRange(1, 64),
    default=1,
    show_default=True,
    help="Regions searched at a time, where thousands of stops make several.",
)
@engine_options.engine_only
@click.option(
    "folder",
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="FOLDER",
    help="Write map, list with load sheet, board, calendar, routes and tables there.",
)
@click.option(
    "--time-zone", metavar="NAME", help="Of the calendar: America/New_York; else times float."
)
@click.option("--pdf", is_flag=True, help="With --out: the list as PDF too.")
@click.option("--board", is_flag=True, help="Open the week board, to move stops by hand.")
@click.option("--no-browser", is_flag=True, help="With --board: do not open the browser.")
@options.as_json
def command(place: Path, first: datetime.date, length: str, as_json: bool, **given: Any) -> None:
    """Plan spray days: which property, on which day, with which truck.

    Ctrl-C ends the search and keeps the best plan so far.

    Reads the place, trucks, and forecast, roads and an earlier plan where they are given. Writes
    the folder that --out names.

    \b
    Examples:
      turfmap days demo.gpkg --from 2026-09-14 --for 2d --trucks trucks.csv \\
        --use autumn_pre_emergent="Spring barrier, liquid" --what-if overseeding=none --out week
      turfmap days demo.gpkg --from 2026-09-15 --for 2d --trucks trucks.csv \\
        --announced week/plan.json --forecast hours.csv --json
    """
    desk, search = _needed("turfmap.desk.spray_days"), _needed("turfmap.days.plan.search")
    inputs = _needed("turfmap.desk.spray_inputs")
    last = first + datetime.timedelta(days=_days(length) - 1)
    asked = inputs.Given(
        trucks=given["trucks"],
        forecast=given["forecast"],
        weather=given["weather_file"],
        roads=given["roads"],
        announced=given["announced"],
        tasks=_tasks(given["tasks"]),
        uses=dict(_pair(text, "--use", "TASK=PRODUCT") for text in given["uses"]),
        carrier=rate(given["carrier"], record="--carrier") if given["carrier"] else None,
        what_if=[_pair(text, "--what-if", "NAME=VALUE") for text in given["what_if"]],
    )
    write = _writer(place, given)
    with engine_options.engine(given) as engine:
        with screen.working("Reading what is due, where and when"):
            ready = inputs.prepared(place, first=first, last=last, given=asked, engine=engine)
        with _searching(search, given["effort"], given["seed"]) as effort:
            found = desk.searched_plan(ready, effort, workers=given["workers"], engine=engine)
    result = desk.plan_told(ready, found, effort)
    written = write(result) if write else []
    screen.print_json(result) if as_json else _print(result)
    if written and not as_json:
        screen.print_lines(written, heading="Written")
    if given["board"]:
        board = _needed("turfmap.desk.week_board").WeekBoard(ready, found, effort, write=write)
        _serve(place, board, no_browser=given["no_browser"])


def _writer(place: Path, given: Mapping[str, Any]) -> Callable[[Any], list[str]] | None:
    """Return what writes the views of a plan, if a folder is given for them."""
    if given["folder"] is None:
        if given["pdf"] or given["time_zone"]:
            raise input_fault("there is no folder to write to", "give one with --out FOLDER")
        return None
    out = _needed("turfmap.desk.days_out")
    write: Callable[[Any], list[str]] = out.writer(
        place,
        given["folder"],
        time_zone=given["time_zone"],
        pdf=given["pdf"],
        announced=given["announced"],
    )
    return write


def _serve(place: Path, board: object, *, no_browser: bool) -> None:
    asked = dict.fromkeys(("port", "as_of", "weather_file", "picture", "tiles", "credit"))
    serve = import_module("turfmap.doors.web.serve")
    serve.run(
        {**asked, "place": place, "no_browser": no_browser}, view="", page="board.html", days=board
    )


def _needed(name: str) -> ModuleType:
    """Import a module that needs the extra libraries.

    Raises
    ------
    InputFaultsError
        If they are not installed.
    """
    try:
        return import_module(name)
    except ModuleNotFoundError as error:
        library = (error.name or "").partition(".")[0]
        if library not in LIBRARIES:
            raise
        raise input_fault(
            f"planning days needs the library {library}, which is not installed",
            f"install it with pip install '{EXTRA}'",
        ) from None


def _days(text: str) -> int:
    number, unit = text.strip()[:-1], text.strip()[-1:].lower()
    if not number.isdigit() or unit not in {"d", "w"} or not 1 <= int(number) <= 999:
        raise input_fault(f"{text!r} is no length", "write it as 10d or 2w", record="--for")
    return int(number) * (7 if unit == "w" else 1)


def _tasks(names: Sequence[str]) -> tuple[str, ...]:
    known = {row["task"] for row in table("work_rate").rows}
    for name in names:
        if name not in known:
            few = ", ".join(sorted(known))
            raise input_fault(f"no time on site is known for {name!r}", f"choose of {few}")
    return tuple(names)


def _pair(text: str, option: str, how: str) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals:
        raise input_fault("it has no =", f"write it as {how}", record=f"{option} {text}")
    return name.strip(), value.strip()


@contextmanager
def _searching(search: ModuleType, iterations: int, seed: int) -> Iterator[Any]:
    """Show the best so far while a search runs; Ctrl-C ends it, a second one ends turfmap."""
    stopped: list[bool] = []

    def stop(_signal: int, _frame: FrameType | None) -> None:
        if stopped:
            raise KeyboardInterrupt
        stopped.append(True)

    columns = (TextColumn("Searching"), BarColumn(), TextColumn("{task.fields[best]}"))
    before = signal.signal(signal.SIGINT, stop)
    try:
        with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
            task = bar.add_task("", total=iterations, best="")

            def on_best(now: Any) -> None:
                best = f"{now.served} stops, {now.driving_min:,.0f} min of driving"
                bar.update(task, completed=now.done, best=best)

            yield search.Effort(iterations, seed, on_best, lambda: bool(stopped))
    finally:
        signal.signal(signal.SIGINT, before)


def _print(result: Mapping[str, Any]) -> None:
    if result["days"]:
        _print_days(result)
        screen.console().print(_sums(result["totals"]))
        _print_stops(result)
    else:
        screen.console().print(_nothing(result))
    _print_rest(result)
    screen.print_lines(result["cautions"], heading="Caution")


def _nothing(result: Mapping[str, Any]) -> str:
    """Say that no stop is planned, and where to read why."""
    first, last = (day_words(iso_date(result[key], record=key)) for key in ("from", "to"))
    count = len(result["stops"])
    if count:
        return f"None of {count} stops can be planned from {first} to {last}: see Left out."
    below = ", ".join(heading for key, heading in WAITS.items() if result[key])
    return f"There is no stop to plan from {first} to {last}" + (
        f": see {below}." if below else "."
    )


def _print_days(result: Mapping[str, Any]) -> None:
    first, last = (day_words(iso_date(result[key], record=key)) for key in ("from", "to"))
    headings = ("Day", "Truck", "Out", "Back", "Stops", "Drive", "Work", "Wait", "Miles", "Refills")
    rows = [
        (
            weekday_words(day["day"]),
            day["truck"],
            day["leaves"][-5:],
            day["returns"][-5:],
            str(sum(leg["kind"] == "stop" for leg in day["legs"])),
            f"{day['driving_min']:,.0f}",
            f"{day['working_min'] + day['refill_min']:,.0f}",
            f"{day['waiting_min']:,.0f}",
            f"{day['miles']:,.1f}",
            str(day["refills"]),
        )
        for day in result["days"]
    ]
    numbers = range(4, len(headings))
    screen.print_table(f"Spray days, {first} to {last}", headings, rows, numbers=numbers)


def _sums(totals: Mapping[str, Any]) -> str:
    return (
        f"{totals['served']} of {totals['stops']} stops on {totals['truck_days']} truck-days:"
        f" {totals['driving_min']:,.0f} min of driving, {totals['miles']:,.0f} miles,"
        f" {totals['refills']} refills."
    )


def _print_stops(result: Mapping[str, Any]) -> None:
    """Print every outing's stops in their order."""
    stops = {stop["stop"]: stop for stop in result["stops"]}
    rows = [
        (
            weekday_words(day["day"]),
            day["truck"],
            str(leg["number"]),
            leg["starts"][-5:],
            leg["stop"],
            _load(stop),
        )
        for day in result["days"]
        for leg in day["legs"]
        if leg["kind"] == "stop" and (stop := stops[leg["stop"]])
    ]
    screen.print_table("Stops", ("Day", "Truck", "No.", "Starts", "Stop", "Takes"), rows)


def _together(lines: Sequence[Mapping[str, Any]]) -> list[str]:
    """Say once what many zones wait for."""
    return screen.said_once(
        (one["title"], one["why"], f"{one['property']} / {one['zone']}") for one in lines
    )


def _load(stop: Mapping[str, Any]) -> str:
    return f"{stop['amount']:,.1f} {stop['unit']} {stop['mix']}" if stop["mix"] else ""


def _print_rest(result: Mapping[str, Any]) -> None:
    screen.print_lines(_left_out(result), heading="Left out")
    screen.print_lines(map(_moved, result["moved"]), heading="Moved against what was announced")
    second = [
        f"{one['property']}: {' to '.join(map(_day, (one['first'], one['last'])))},"
        f" after {_day(one['done'])}"
        for one in result["second_passes"]
        if not one["planned"]
    ]
    screen.print_lines(second, heading="Second passes still to be planned")
    screen.print_lines(_together(result["ask_first"]), heading=WAITS["ask_first"])
    screen.print_lines(_together(result["not_stops"]), heading=WAITS["not_stops"])
    screen.print_lines(map(_choose, result["choose"]), heading=WAITS["choose"])


def _left_out(result: Mapping[str, Any]) -> list[str]:
    """Say once what leaves many stops out."""
    title = {stop["stop"]: stop["title"] for stop in result["stops"]}
    return screen.said_once(
        (of, f"{one['why'][:1].upper()}{one['why'][1:]}.", one["stop"].replace(f" · {of}", ""))
        for one in result["left_out"]
        for of in [title[one["stop"]]]
    )


def _moved(one: Mapping[str, Any]) -> str:
    now = f"now {_day(one['to']['day'])}" if one["to"] else "left out"
    return f"{one['stop']}: was {_day(one['from']['day'])} ({one['weather']}), {now}"


def _choose(one: Mapping[str, Any]) -> str:
    zones = f"{one['zones']} {'zone' if one['zones'] == 1 else 'zones'}"
    if not one["products"]:
        return f"{one['task']} ({zones}): no product of the book is for it"
    products = " or ".join(f'"{product}"' for product in one["products"])
    return f"--use {one['task']}={products} ({zones})"


def _day(iso: str) -> str:
    return day_words(iso_date(iso, record="day"))
