"""``turfmap draft``."""

import datetime
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from turfmap.desk.draft import PictureAsked, accept, draft
from turfmap.doors import parameters
from turfmap.doors.cli import options, screen
from turfmap.foundations.errors import input_fault
from turfmap.foundations.units import SQUARE_METRES_PER_SQUARE_FOOT


@click.command("draft")
@options.place_file
@options.only_property
@click.option(
    "--picture", type=parameters.FILE, metavar="AERIAL.tif", help="The picture to draft from."
)
@click.option(
    "--bands",
    default="1,2,3",
    show_default=True,
    metavar="R,G,B[,NIR]",
    help="Which bands are red, green, blue and, if there is one, infrared.",
)
@click.option(
    "--smallest-sqft",
    type=click.FloatRange(1.0, 1e6),
    default=100.0,
    show_default=True,
    help="Smaller patches go to their largest neighbour.",
)
@click.option(
    "--taken",
    type=parameters.DateParameter(),
    metavar="YYYY-MM-DD",
    help="When the picture was taken, if the file does not say.",
)
@click.option(
    "--out", type=parameters.FILE, metavar="DRAFTS.geojson", help="Where to write the drafts."
)
@click.option("--accept", "number", type=int, metavar="NUMBER", help="Make this draft a zone.")
@click.option("--drafts", type=parameters.FILE, metavar="DRAFTS.geojson", help="What holds it.")
@click.option("--name", help="What the zone is to be called.")
@options.as_json
def command(
    place: Path,
    property_name: str | None,
    picture: Path | None,
    bands: str,
    smallest_sqft: float,
    taken: datetime.date | None,
    out: Path | None,
    as_json: bool,
    **accepting: Any,
) -> None:
    """Draft zones from a picture from the air, and accept them one by one.

    Drafts are a file of their own. Nothing in the place changes until one is accepted.

    Reads the place and the picture. Writes the file that --out names, or with --accept one zone
    into the place.

    \b
    Examples:
      turfmap draft demo.gpkg --property "Larkspur Hollow" --picture aerial.tif \\
        --bands 1,2,3,4 --out drafts.geojson
      turfmap draft demo.gpkg --drafts drafts.geojson --accept 1 --name "New lawn"
    """
    if accepting["number"] is not None:
        _accept(place, accepting, as_json=as_json)
        return
    if picture is None or out is None:
        raise input_fault(
            "it is not said what to draft from, or where to",
            "give --picture and --out, or --accept with --drafts and --name",
        )
    asked = PictureAsked(
        picture, _bands(bands), smallest_sqft * SQUARE_METRES_PER_SQUARE_FOOT, taken
    )
    with screen.working("Looking at the picture"):
        result = draft(place, property_name=property_name, asked=asked, out=out)
    screen.print_json(result) if as_json else _print(result)


def _accept(place: Path, accepting: Mapping[str, Any], *, as_json: bool) -> None:
    drafts, name = accepting["drafts"], accepting["name"]
    if drafts is None or not name:
        raise input_fault(
            "it is not said which file holds the draft, or what the zone is to be called",
            "give --drafts and --name",
            record="--accept",
        )
    result = accept(place, drafts=drafts, number=accepting["number"], name=name)
    if as_json:
        screen.print_json(result)
    else:
        screen.say(f"Draft {accepting['number']} is now the zone {name}. Look at its edges.")


def _bands(text: str) -> tuple[int, ...]:
    parts = [part.strip() for part in text.split(",")]
    if len(parts) not in (3, 4) or not all(part.isdecimal() and len(part) < 5 for part in parts):
        raise input_fault(
            f"{text!r} does not name three or four bands", "write --bands 1,2,3 or 1,2,3,4"
        )
    return tuple(map(int, parts))


def _print(result: Mapping[str, Any]) -> None:
    rows = [
        (
            str(row["draft"]),
            row["property"],
            row["draft_kind"],
            f"{row['area_sqft']:,.0f}",
            f"{row['confidence']:.2f}",
        )
        for row in result["drafts"]
    ]
    first = result["drafts"][0]
    title = f"Drafts in {result['out']}, by {first['index']} from {first['picture']}"
    headings = ("Draft", "Property", "Looks like", "sq ft", "Confidence, 0 to 1")
    screen.print_table(title, headings, rows, numbers=(0, 3, 4))
    screen.print_lines(result["cautions"], heading="Caution")
