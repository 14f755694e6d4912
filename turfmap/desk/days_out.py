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
from turfmap.foundations.errors import input_fault
from turfmap.store.csv_text import write_csv
from turfmap.store.geojson import write_geojson
from turfmap.store.written_files import (
    HTML_MARK,
    JSON_MARK,
    PDF_MARK,
    write_whole,
    write_whole_bytes,
)
from turfmap.views.calendar_file import CALENDAR_MARK, calendar_text, zone_of
from turfmap.views.day_list import day_list
from turfmap.views.day_map import day_map
from turfmap.views.outings import amount_words, calls_of, outings, zone_words
from turfmap.views.pdf import printed
from turfmap.views.track_file import TRACK_MARK, track_text
from turfmap.views.week_board import week_board

Plain = dict[str, Any]
# In this order, so that what most want comes first.
NAMES = (
    "map.html",
    "list.html",
    "board.html",
    "stops.csv",
    "calendar.ics",
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


def writer(
    path: Path, folder: Path, *, time_zone: str | None, pdf: bool
) -> Callable[[Plain], list[str]]:
    """Return what writes the views of a plan; see `days_out`.

    Raises
    ------
    InputFaultsError
        If there is no such time zone, or no PDF can be made here: now, not after a long search.
    """
    zone_of(time_zone)
    if pdf:
        printed("<title>Spray days</title>")
    return partial(days_out, path, folder=folder, time_zone=time_zone, pdf=pdf)


def days_out(
    path: Path, plan: Plain, folder: Path, *, time_zone: str | None, pdf: bool
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
    calendar = calendar_text(plan, time_zone=time_zone)
    sheets = printed(made["list.html"]) if pdf else b""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise input_fault(
            f"the folder cannot be made ({error.strerror})", "choose another", file=str(folder)
        ) from None
    for name, text in made.items():
        write_whole(folder / name, text, mark=HTML_MARK, endings=(".html",))
    if pdf:
        write_whole_bytes(folder / "list.pdf", sheets, mark=PDF_MARK, endings=(".pdf",))
    write_csv(folder / "stops.csv", COLUMNS, rows_of(plan))
    write_whole(folder / "calendar.ics", calendar, mark=CALENDAR_MARK, endings=(".ics",))
    write_whole(folder / "routes.gpx", track_text(plan), mark=TRACK_MARK, endings=(".gpx",))
    write_geojson(folder / "plan.geojson", *_features(plan))
    text = json.dumps({"made_by": "turfmap", **plan}, ensure_ascii=False, indent=1, allow_nan=False)
    write_whole(folder / "plan.json", text + "\n", mark=JSON_MARK, endings=(".json",))
    return [str(folder / name) for name in (*NAMES, *(["list.pdf"] if pdf else []))]


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
