"""``turfmap notice``."""

import datetime
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from turfmap.desk.business import write_templates
from turfmap.desk.letter_batch import FORMATS
from turfmap.desk.notice import Wish, notice
from turfmap.desk.notice_work import Period
from turfmap.doors import parameters
from turfmap.doors.cli import completing, options, screen
from turfmap.foundations.errors import Fault, InputFaultsError

SEASON_DAYS = 92
FOLDER = click.Path(path_type=Path, file_okay=False)


@click.command("notice")
@options.place_file
@options.only_property
@click.option("kind", "--questions", flag_value="questions", help="Ask what holds work up.")
@click.option("kind", "--before", flag_value="before", help="Tell what is planned in a period.")
@click.option("kind", "--after", flag_value="after", help="Tell what was done in a period.")
@click.option("kind", "--season", flag_value="season", help="Tell what a season brings.")
@click.option(
    "--as-of", type=parameters.DateParameter(), metavar="YYYY-MM-DD", help="Day to judge by."
)
@click.option(
    "first", "--from", type=parameters.DateParameter(), metavar="YYYY-MM-DD", help="First."
)
@click.option(
    "last", "--until", type=parameters.DateParameter(), metavar="YYYY-MM-DD", help="Last day."
)
@click.option(
    "tasks",
    "--task",
    multiple=True,
    metavar="TASK",
    shell_complete=completing.tasks,
    help="Only this task.",
)
@click.option(
    "--product",
    metavar="NAME",
    shell_complete=completing.products,
    help="With --before: what will be applied.",
)
@click.option("--out", type=FOLDER, metavar="FOLDER", help="A new folder for the letters.")
@click.option("--style", type=FOLDER, metavar="FOLDER", help="Your business.toml and templates.")
@click.option("--language", type=click.Choice(["en", "es"]), help="Unless a client asked for one.")
@click.option(
    "formats",
    "--format",
    multiple=True,
    type=click.Choice(FORMATS),
    default=("md", "html"),
    show_default=True,
    help="May be given again.",
)
@click.option("--templates-into", type=FOLDER, metavar="FOLDER", help="Write what you may edit.")
@options.as_json
def command(
    place: Path,
    property_name: str | None,
    kind: str | None,
    as_json: bool,
    **given: Any,
) -> None:
    """Write letters to clients: ask first, tell before and after, and for a season.

    One letter a client, with a reply sheet beside the questions. Fill the sheet in and bring it
    home with turfmap import PLACE.gpkg REPLIES.csv --as client_answer; what was left empty stays
    unknown. Nothing is sent.

    Reads the place. Writes a new folder, as a whole or not at all.

    \b
    Examples:
      turfmap notice demo.gpkg --questions --as-of 2026-09-24 --out letters
      turfmap notice demo.gpkg --before --from 2026-09-28 --until 2026-10-02 --out before
      turfmap notice demo.gpkg --after --from 2026-09-14 --until 2026-09-18 --out after
      turfmap notice demo.gpkg --season --as-of 2026-09-24 --format html --out season
      turfmap notice demo.gpkg --templates-into my-style
    """
    if given["templates_into"] is not None:
        result = write_templates(given["templates_into"])
        screen.print_json(result) if as_json else click.echo(
            f"Wrote {len(result['files'])} files into {result['out']}: edit them and give --style."
        )
        return
    with screen.working("Writing letters"):
        result = notice(place, _wish(kind, property_name, given))
    screen.print_json(result) if as_json else _print(result)


def _wish(kind: str | None, property_name: str | None, given: Mapping[str, Any]) -> Wish:
    faults: list[Fault] = []
    as_of, first, last = given["as_of"], given["first"], given["last"]
    if kind is None:
        mend = "give --questions, --before, --after or --season"
        faults.append(Fault("", "", "which letters are wanted is not said", mend))
    if given["out"] is None:
        faults.append(Fault("", "--out", "it is not given", "name a new folder"))
    if kind in {"before", "after"} and (first is None or last is None):
        mend = "give the first and the last day"
        faults.append(Fault("", "--from, --until", "they are not given", mend))
    if as_of is None and first is None and kind is not None:
        faults.append(Fault("", "--as-of", "it is not given", "give the day to judge by"))
    if faults:
        raise InputFaultsError(faults)
    day = as_of or first
    begins = first or day
    ends = last or begins + datetime.timedelta(days=SEASON_DAYS)
    return Wish(
        str(kind),
        day,
        given["out"],
        Period(begins, ends, frozenset(given["tasks"]), given["product"]),
        property_name,
        given["style"],
        given["language"],
        tuple(dict.fromkeys(given["formats"])),
    )


def _print(result: Mapping[str, Any]) -> None:
    letters: Sequence[Mapping[str, Any]] = result["letters"]
    click.echo(f"{len(letters)} letters in {result['out']}.")
    screen.print_lines(result["office"], heading="For the office or the crew to find out")
    screen.print_lines(result["cautions"], heading="Caution")
