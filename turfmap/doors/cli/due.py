"""``turfmap due``."""

import datetime
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from turfmap.desk.due import due_by
from turfmap.desk.season_inputs import season_inputs
from turfmap.desk.weather import Given
from turfmap.doors import parameters
from turfmap.doors.cli import completing, engine_options, options, screen
from turfmap.foundations.dates import day_words, iso_date
from turfmap.foundations.definitions import table
from turfmap.foundations.errors import input_fault

# What a reader wants first: work that is open now, and what is near.
SHOWN_STATES = ("due", "ask", "held", "soon")


@click.command("due")
@options.place_file
@options.as_of
@parameters.weather_file
@options.only_property
@click.option(
    "forecast_file",
    "--forecast",
    type=parameters.FILE,
    metavar="FILE.csv",
    help="Forecast days, joined after the record; reasons say which they are.",
)
@click.option(
    "--why",
    metavar="ZONE",
    shell_complete=completing.zones,
    help="Everything behind the answers for one zone: its name, or 'PROPERTY / ZONE'.",
)
@click.option(
    "what_if",
    "--what-if",
    multiple=True,
    metavar="NAME=VALUE",
    help="Suppose overseed=DATE, rain=INCHES, species=…, QUESTION=ANSWER, 'TASK=DATE PRODUCT'.",
)
@click.option(
    "states",
    "--state",
    multiple=True,
    metavar="STATE",
    shell_complete=completing.states,
    help=f"Only tasks in this state ({', '.join(SHOWN_STATES)}, …); may be given again.",
)
@engine_options.engine_options
@options.as_json
def command(
    place: Path,
    as_of: datetime.date,
    what_if: Sequence[str],
    why: str | None,
    states: Sequence[str],
    as_json: bool,
    **given: Any,
) -> None:
    """Tell what is due on each zone, what must wait, and what to ask first.

    Reads the place, and weather and forecast where they are given. Writes nothing.

    \b
    Examples:
      turfmap due demo.gpkg --as-of 2026-09-24 --weather record.csv
      turfmap due demo.gpkg --as-of 2026-09-24 --why "Larkspur Hollow / Front lawn east"
      turfmap due demo.gpkg --as-of 2026-09-24 --what-if overseed=2026-10-10
      turfmap due demo.gpkg --as-of 2026-09-24 --state ask
    """
    shown = _states(states)
    supposed = [_pair(text) for text in what_if]
    weather = Given(given["weather_file"], given["forecast_file"])
    with screen.working("Judging what is due"), engine_options.engine(given) as engine:
        inputs = season_inputs(
            place,
            as_of=as_of,
            given=weather,
            property_name=given["property_name"],
            zone_name=why,
        )
        result = due_by(inputs, as_of=as_of, why=why is not None, what_if=supposed, engine=engine)
    if as_json:
        screen.print_json(result)
    elif why:
        _print_why(result)
    else:
        _print(result, shown)


def _states(texts: Sequence[str]) -> Sequence[str]:
    """Return the states to print, those that are open or near if none was named."""
    known = table("state").by("state")
    for text in texts:
        if text not in known:
            raise input_fault(
                f"there is no state {text!r}", f"choose of {', '.join(known)}", record="--state"
            )
    return texts or SHOWN_STATES


def _pair(text: str) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals:
        raise input_fault(
            "it has no =", "write it as NAME=VALUE, such as rain=0", record=f"--what-if {text}"
        )
    return name.strip(), value.strip()


def _print(result: Mapping[str, Any], states: Sequence[str]) -> None:
    day = day_words(iso_date(result["as_of"], record="as_of"))
    headings = ("Property", "Zone", "Task", "State", "Opens", "Closes", "Because")
    supposed = f", what if: {'; '.join(result['what_if'])}" if "what_if" in result else ""
    screen.print_table(f"Due as of {day}{supposed}", headings, _rows(result, states))
    _print_summary(result, states)
    screen.print_lines(result["cautions"], heading="Caution")


def _print_summary(result: Mapping[str, Any], states: Sequence[str]) -> None:
    """Print how many zones each task has in each state, last, where a long list ends."""
    words = {state: row["words"] for state, row in table("state").by("state").items()}
    counts = Counter(
        (task["title"], task["state"]) for zone in result["zones"] for task in zone["tasks"]
    )
    titles = [row["title"] for row in sorted(table("task").rows, key=lambda row: row["rank"])]
    rows = [
        (title, *(f"{counts[title, state] or '':}" for state in states))
        for title in titles
        if any(counts[title, state] for state in states)
    ]
    headings = ("Task", *(words[state] for state in states))
    numbers = range(1, len(headings))
    screen.print_table("Zones by task", headings, rows, numbers=numbers)


def _rows(result: Mapping[str, Any], states: Sequence[str]) -> Iterator[tuple[str, ...]]:
    words = {state: row["words"] for state, row in table("state").by("state").items()}
    for zone in result["zones"]:
        for task in zone["tasks"]:
            if task["state"] in states:
                yield (
                    zone["property"],
                    zone["zone"],
                    task["title"],
                    words[task["state"]],
                    task["opens"] or "",
                    task["closes"] or "",
                    (task["holds"] or task["reasons"] or [""])[0],
                )


def _print_why(result: Mapping[str, Any]) -> None:
    words = {state: row["words"] for state, row in table("state").by("state").items()}
    for zone in result["zones"]:
        screen.say(f"{zone['property']} / {zone['zone']}")
        for task in zone["tasks"]:
            dates = f"{task['opens'] or 'not known'} to {task['closes'] or 'not known'}"
            screen.print_lines(
                [
                    *(f"Holds: {line}" for line in task["holds"]),
                    *(f"Because: {line}" for line in task["reasons"]),
                    *(f"Behind it: {line}" for line in task["why"]),
                    *(f"Source: {line}" for line in task["sources"]),
                    *([f"Tell the client: {task['tell_client']}"] if task["tell_client"] else []),
                ],
                heading=f"{task['title']}: {words[task['state']]} ({dates})",
            )
    screen.print_lines(result["cautions"], heading="Caution")
