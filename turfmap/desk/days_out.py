"""The views of a plan of spray days as files: map, lists, board, calendar, tracks, tables."""

import json
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from turfmap.desk.days_ground import ground_of
from turfmap.desk.map import title_of
from turfmap.store.csv_text import csv_text, write_csv
from turfmap.store.geojson import write_geojson
from turfmap.store.written_files import (
    HTML_MARK,
    JSON_MARK,
    PDF_MARK,
    read_written,
    replacing_together,
    write_whole,
    write_whole_bytes,
)
from turfmap.views.calendar_changes import earlier_events
from turfmap.views.calendar_file import CALENDAR_MARK, calendar_text, zone_of
from turfmap.views.day_list import day_list
from turfmap.views.day_map import day_map
from turfmap.views.outings import amount_words, calls_of, outings, zone_words
from turfmap.views.pdf import printed
from turfmap.views.track_file import TRACK_MARK, track_text
from turfmap.views.week_board import week_board

Plain = dict[str, Any]
CALENDAR = "calendar.ics"
# In this order, so that what most want comes first.
NAMES = (
    "map.html",
    "list.html",
    "board.html",
    "stops.csv",
    CALENDAR,
    "routes.gpx",
    "plan.geojson",
    "plan.json",
)
COLUMNS = (
    "day",
    "truck",
    "number",
    "arrives",
    "starts",
    "ends",
    "stop",
    "property",
    "address",
    "client",
    "contact",
    "task",
    "zones",
    "product",
    "amount",
    "unit",
    "minutes",
    "drive_min",
    "longitude",
    "latitude",
)

# By one of these every view is known as turfmap's.
MARKS = (
    *(mark.encode() for mark in (HTML_MARK, JSON_MARK, CALENDAR_MARK, TRACK_MARK)),
    PDF_MARK,
    csv_text(COLUMNS, []).encode(),
)


def writer(
    path: Path, folder: Path, *, time_zone: str | None, pdf: bool, announced: Path | None = None
) -> Callable[[Plain], list[str]]:
    """Return what writes the views of a plan; see `days_out`.

    Raises
    ------
    InputFaultsError
        If there is no such time zone, an earlier calendar is not as turfmap wrote it, or no PDF can
        be made here: now, not after a long search.
    """
    zone_of(time_zone)
    earlier_events(_earlier(folder, announced))
    if pdf:
        printed("<title>Spray days</title>")
    return partial(days_out, path, folder=folder, time_zone=time_zone, pdf=pdf, announced=announced)


def days_out(
    path: Path,
    plan: Plain,
    folder: Path,
    *,
    time_zone: str | None,
    pdf: bool,
    announced: Path | None = None,
) -> list[str]:
    """Write every view of a plan into a folder.

    Parameters
    ----------
    path
        The place that the plan is of.
    plan
        A result of `turfmap.desk.spray_days.spray_days`.
    folder
        Made if it is not there; files of those names are replaced if turfmap wrote them.
    time_zone
        For the calendar; None: times float.
    pdf
        Whether the list is written as PDF too.
    announced
        The earlier plan that clients were told: the calendar beside it is brought up to date, as is
        that in the folder.

    Returns
    -------
    list of str
        What was written.

    Raises
    ------
    InputFaultsError
        If the folder, or a file in it, cannot be written, or there is no such time zone.
    """
    title = title_of(path, ())
    made = {
        "map.html": day_map(plan, ground_of(path, plan), title=f"{title}: spray days"),
        "list.html": day_list(plan, title=f"{title}: spray days"),
        "board.html": week_board(plan, title=f"{title}: spray days"),
    }
    earlier = _earlier(folder, announced)
    calendar = calendar_text(plan, time_zone=time_zone, earlier=earlier)
    sheets = printed(made["list.html"]) if pdf else b""
    # Views of two plans beside each other would send a crew to the wrong street.
    with replacing_together(folder, marks=MARKS) as making:
        for name, page in made.items():
            write_whole(making / name, page, mark=HTML_MARK, endings=(".html",))
        if pdf:
            write_whole_bytes(making / "list.pdf", sheets, mark=PDF_MARK, endings=(".pdf",))
        write_csv(making / "stops.csv", COLUMNS, rows_of(plan))
        write_whole(making / CALENDAR, calendar, mark=CALENDAR_MARK, endings=(".ics",))
        write_whole(making / "routes.gpx", track_text(plan), mark=TRACK_MARK, endings=(".gpx",))
        write_geojson(making / "plan.geojson", *_features(plan))
        content = {"made_by": "turfmap", **plan}
        text = json.dumps(content, ensure_ascii=False, indent=1, allow_nan=False)
        write_whole(making / "plan.json", text + "\n", mark=JSON_MARK, endings=(".json",))
    return [str(folder / name) for name in (*NAMES, *(["list.pdf"] if pdf else []))]


def _earlier(folder: Path, announced: Path | None) -> list[tuple[str, str]]:
    """Return earlier calendars that turfmap wrote: in the folder, and beside an earlier plan."""
    files = [folder / CALENDAR, *([announced.with_name(CALENDAR)] if announced else [])]
    read = {str(file): read_written(file, mark=CALENDAR_MARK) for file in files}
    return [(file, text) for file, text in read.items() if text is not None]


def rows_of(plan: Plain) -> list[Plain]:
    """Return a row a stop: those served in the order of the plan, then those left out."""
    served = [
        {
            **(call.stop or {}),
            **{name: call.leg[name] for name in ("number", "arrives", "starts", "ends")},
            "drive_min": call.leg["drive_min"],
            "zones": zone_words(call.stop or {}),
        }
        for _, call in calls_of(plan)
    ]
    left = [stop | {"zones": zone_words(stop)} for stop in plan["stops"] if not stop["day"]]
    return [*served, *left]


def _features(plan: Plain) -> tuple[Any, list[Plain]]:
    """Return a line an outing and a point a stop, each with what is said of it."""
    shapes: list[shapely.Geometry] = []
    said: list[Plain] = []
    for outing in outings(plan):
        sums = ("day", "truck", "leaves", "returns", "driving_min", "working_min", "miles")
        shapes.append(shapely.LineString(outing.way()))
        said.append({"kind": "route", **{name: outing.of[name] for name in sums}})
        for call in outing.stops:
            stop = call.stop or {}
            shapes.append(shapely.Point(call.lon_lat))
            told = {name: stop[name] for name in ("day", "truck", "number", "starts", "ends")}
            told |= {name: stop[name] for name in ("stop", "property", "task")}
            told |= {"zones": zone_words(stop), "takes": amount_words(stop)}
            said.append({"kind": "stop", **told})
    return np.array(shapes, dtype=object), said
