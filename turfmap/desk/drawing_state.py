"""What the drawing map shows of every zone, and after a save of those alone that it touched."""

from collections.abc import Sequence
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from turfmap.desk.area import measured
from turfmap.desk.due import due
from turfmap.desk.edit_faults import plain_geometry
from turfmap.desk.measuring import cut_near
from turfmap.desk.near_ground import frames_round, near_place, touched_zones
from turfmap.desk.own_rows import own_table
from turfmap.desk.place import Place, read_place
from turfmap.desk.protected import Overrides
from turfmap.desk.season_inputs import SeasonInputs, judged_by
from turfmap.desk.touched import beside_touched, changes_of
from turfmap.desk.weather import Given
from turfmap.foundations.definitions import table
from turfmap.foundations.errors import InputFaultsError
from turfmap.ground.near import Indices
from turfmap.ground.nospray import no_spray_ground
from turfmap.season import due as season
from turfmap.store import geopackage

PARTS = ("treatable_m2", "gross_m2", "no_spray_m2", "obstacle_m2")
NOTHING, ASK, HELD = "none", "ask", "held"
Plain = dict[str, Any]


def state(
    path: Path,
    *,
    as_of: date,
    changed: Sequence[str] | None = None,
    weather_file: Path | None = None,
) -> Plain:
    """Return how zones stand on a day, how much of each may be treated, and no-spray ground.

    Parameters
    ----------
    path
        The place; nothing is written.
    as_of
        The day asked about.
    changed
        Identities of features that have just been saved or deleted: only the zones that this
        touches are computed, to the same values as in a run over everything. None for everything.
    weather_file
        A daily weather CSV that wins over the weather in the file.

    Returns
    -------
    dict
        ``as_of``; ``zones`` (id, property, zone, kind, state, code, title, why, parts in m2);
        ``no_spray``, one entry a protected feature (id, geometry, causes); ``cautions``; and
        ``partial``, true, if it is not everything: then no_spray has the changed features alone,
        and cautions are those of the zones that were computed.

    Raises
    ------
    InputFaultsError
        If the file cannot be read.
    """
    # A weather file of one's own may bring stations: which is nearest is told over everything.
    if changed is not None and weather_file is None:
        # A row that nobody can judge is told of by the run over everything.
        with suppress(InputFaultsError):
            found = _partly(path, list(dict.fromkeys(changed)), as_of=as_of)
            if found is not None:
                return found
    return _whole(path, as_of=as_of, weather_file=weather_file)


def _whole(path: Path, *, as_of: date, weather_file: Path | None) -> Plain:
    place = read_place(path, property_name=None, product=None, overrides=Overrides({}))
    areas = measured(place)[0]
    try:
        judged = due(path, as_of=as_of, weather_file=weather_file)
    except InputFaultsError as error:
        judged = _not_judged(areas["zones"], error)
    everything = np.arange(len(place.protected))
    return {
        "as_of": as_of.isoformat(),
        "zones": _zones(areas["zones"], judged["zones"]),
        "no_spray": _no_spray(place, everything),
        "cautions": list(dict.fromkeys([*areas["cautions"], *judged["cautions"]])),
    }


def _partly(path: Path, changed: Sequence[str], *, as_of: date) -> Plain | None:
    """Return the state of the zones that changes touched; None where that cannot be told."""
    rules = own_table(path, "setback")
    with geopackage.reading(path) as connection:
        changes = changes_of(connection, changed, file=str(path))
        if changes is None:
            return None
        frames, boxes = frames_round(connection, path, changes, rules)
        place = near_place(frames, rules, path)
        chosen = touched_zones(place, boxes)
        beside = beside_touched(connection, place.zones.iloc[chosen], changes, file=str(path))
    if beside is None:
        return None
    areas, _ = cut_near(place, chosen)
    judged = _judged(judged_by(path, *beside, as_of=as_of, given=Given()), as_of)
    mine = np.flatnonzero(place.protected["id"].isin(changed))
    return {
        "as_of": as_of.isoformat(),
        "partial": True,
        "zones": _zones(areas, judged["zones"]),
        "no_spray": _no_spray(place, mine),
        "cautions": judged["cautions"],
    }


def _judged(inputs: SeasonInputs, as_of: date) -> Plain:
    known = inputs.known
    found = season.due(
        known.zones,
        answers=known.answers,
        visits=known.visits,
        weather=known.weather,
        as_of=as_of,
        **inputs.more,
    )
    return found | {"cautions": [*found["cautions"], *inputs.notes]}


def _not_judged(areas: Sequence[Plain], error: InputFaultsError) -> Plain:
    """Return zones of which nobody can say what is due: something in the file needs mending."""
    said = [str(fault) for fault in error.faults]
    task = {"state": ASK, "code": "", "title": "not judged", "reasons": said[:1], "holds": []}
    return {
        "zones": [
            {"property": row["property"], "zone": row["zone"], "tasks": [task]} for row in areas
        ],
        "cautions": [f"What is due cannot be told. {line}" for line in said],
    }


def _zones(areas: Sequence[Plain], judged: Sequence[Plain]) -> list[Plain]:
    """Put areas and what is due together; both are in the order of drawing."""
    keys = [(row["property"], row["zone"]) for row in areas]
    tasks = [((row["property"], row["zone"]), row["tasks"]) for row in judged]
    if [key for key, _ in tasks] != keys:  # somebody wrote between the two readings
        known = dict(tasks)
        tasks = [(key, known.get(key, [])) for key in keys]
    return [
        {"id": row["id"], "property": row["property"], "zone": row["zone"], "kind": row["kind"]}
        | _first(mine)
        | {part: row[part] for part in PARTS}
        for row, (_, mine) in zip(areas, tasks, strict=True)
    ]


def _first(tasks: Sequence[Plain]) -> Plain:
    """Return what gives a zone its colour, and why."""
    words = table("state").by("state")
    if not tasks:
        return {"state": NOTHING, "code": "", "title": words[NOTHING]["words"], "why": ""}
    first = tasks[0]
    said = [*first["holds"], *first["reasons"]] if first["state"] == HELD else first["reasons"]
    why = next(iter([*said, *first["holds"]]), "")
    return {"state": first["state"], "code": first["code"], "title": first["title"], "why": why}


def _no_spray(place: Place, rows: Indices) -> list[Plain]:
    """Return the no-spray ground of some of the protected features."""
    things = place.protected_things()
    ground = no_spray_ground(things.shapes[rows], things.radius_m[rows])
    named = place.protected.iloc[rows].to_dict("records")
    return [
        {
            "id": row["id"],
            "geometry": plain_geometry(shape),
            "causes": [
                {name: row[name] for name in ("name", "category", "distance_m", "margin_m")}
            ],
        }
        for row, shape in zip(named, ground, strict=True)
        if shape is not None and not shapely.is_empty(shape)
    ]
