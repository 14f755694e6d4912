"""Every view of a place, made by the real commands in one process."""

import os
from collections.abc import Collection, Iterator, Sequence
from contextlib import chdir, redirect_stderr, redirect_stdout
from io import StringIO
from pathlib import Path
from unittest.mock import patch

from tests.hostile.kinds import TRUCKS
from tests.hostile.trying import Outcome
from turfmap.doors.cli import main as door

AS_OF = ("--as-of", "2026-09-24")
DAY = ("--on", "2026-09-25T08:00", "--wind", "6 mph NW", "--droplet", "coarse", "--air", "71F")
PERIOD = ("--from", "2026-08-01", "--until", "2026-09-30")
FORMATS = ("--format", "md", "--format", "html")


def commands(properties: Sequence[str], product: str) -> Iterator[tuple[str, ...]]:
    """Yield what makes every view; files and folders are named as they are made."""
    named = [part for name in properties for part in ("--property", name)]
    yield ("map", "place.gpkg", *AS_OF, "--out", "map.html")
    yield ("inspect", "place.gpkg", "--out", "odd.html")
    yield ("inspect", "place.gpkg", "--out", "odd.geojson")
    yield ("nospray", "place.gpkg", "--out", "nospray.geojson")
    for ending in ("csv", "json", "html"):
        yield ("record", "place.gpkg", "--export", f"record.{ending}")
    yield ("notice", "place.gpkg", "--questions", *AS_OF, *FORMATS, "--out", "questions")
    yield ("notice", "place.gpkg", "--after", *PERIOD, *FORMATS, "--out", "after")
    yield ("notice", "place.gpkg", "--before", *PERIOD, *FORMATS, "--out", "before")
    yield (
        "notice",
        "place.gpkg",
        "--season",
        *AS_OF,
        *FORMATS,
        "--language",
        "es",
        "--out",
        "season",
    )
    work = ("--product", product, *DAY, "--carrier", "1 gal/1000sqft", "--tank", "100gal")
    yield ("crew", "place.gpkg", *named, *work, "--out", "crew.html")
    yield ("sheet", "place.gpkg", *named, *work, "--out", "sheet.html")
    yield ("sheet", "place.gpkg", *named[:12], *work, "--out", "sheet.pdf")
    yield ("price", "place.gpkg", *named[:2], *AS_OF, *FORMATS, "--out", "estimate")
    days = ("days", "place.gpkg", "--from", "2026-09-14", "--for", "20d", "--trucks", "trucks.csv")
    yield (*days, "--effort", "50", "--out", "week")
    for told in (("area",), ("inspect",), ("record", "--list"), ("beds", *AS_OF), ("due", *AS_OF)):
        command, *more = told
        yield (command, "place.gpkg", *more)
        yield (command, "place.gpkg", *more, "--json")
    yield ("undo", "place.gpkg", "--list")
    yield ("shopping", "place.gpkg", "--from", "2026-08-01", "--until", "2026-12-01")


def made(
    place: Path,
    properties: Sequence[str],
    product: str,
    *,
    wanted: Collection[tuple[str, str]] | None = None,
) -> list[Outcome]:
    """Make views beside the place; return what each command said.

    Parameters
    ----------
    wanted
        The first and the last word of the commands that are run; None: all.
    """
    (place.parent / "trucks.csv").write_bytes(TRUCKS.replace(b"Truck 1", b"=Truck <b>1"))
    with chdir(place.parent):
        return [
            _run(arguments)
            for arguments in commands(properties, product)
            if wanted is None or (arguments[0], arguments[-1]) in wanted
        ]


def _run(arguments: tuple[str, ...]) -> Outcome:
    printed, said = StringIO(), StringIO()
    status: int | None = 0
    with (
        patch("sys.argv", ["turfmap", *arguments]),
        patch.dict(os.environ, {"TURFMAP_TRACEBACK": "1"}),
        redirect_stdout(printed),
        redirect_stderr(said),
    ):
        try:
            door.main()
        except SystemExit as left:
            status = int(left.code or 0)
    name = " ".join(arguments[:2] + arguments[-2:])
    return Outcome(name, status, said.getvalue(), printed.getvalue(), 0.0, 0.0, False)
