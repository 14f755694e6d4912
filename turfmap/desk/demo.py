"""The demo: an invented estate and sixty invented clients, from files to map."""

import hashlib
import json
from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import date
from importlib.resources import as_file, files
from importlib.resources.abc import Traversable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from turfmap.desk.area import area, totals
from turfmap.desk.bring_in import bring_in
from turfmap.desk.due import due
from turfmap.desk.import_batch import Source
from turfmap.desk.import_columns import Columns
from turfmap.desk.map import map_file
from turfmap.desk.new import new
from turfmap.desk.protected import Overrides
from turfmap.foundations.definitions import table
from turfmap.foundations.errors import input_fault
from turfmap.foundations.units import acres

AS_OF = date(2026, 9, 24)
PLACE, PAGE, TRUCKS = "demo.gpkg", "map.html", "trucks.csv"
# Fingerprints of what the demo wrote: by them it knows its own files from a user's.
MADE = "demo.made.json"

# In this order: a zone finds its property, an answer and a visit their zone.
FILES = (
    "property.geojson",
    "zone.geojson",
    "water.geojson",
    "sensitive_site.geojson",
    "obstacle.geojson",
    "canopy.geojson",
    "gate.geojson",
    "product.csv",
    "client_answer.csv",
    "visit.csv",
    "weather.csv",
)
# A weather file does not say where it is from; ours is public data (see ``demo/make.py``).
FIXED = {"weather": {"station": "a typical year (TMY3 723170), not of these dates"}}


def demo(folder: Path, *, as_of: date = AS_OF) -> dict[str, Any]:
    """Make the demo's place and its map.

    Parameters
    ----------
    folder
        Where ``demo.gpkg`` and ``map.html`` go; made if it is not there. An earlier demo in it
        is replaced if nobody has changed it.
    as_of
        The day that the map is for.

    Returns
    -------
    dict
        ``gpkg``, ``map`` (paths), ``as_of`` and ``headline``: rows of ``what`` and ``value``.

    Raises
    ------
    InputFaultsError
        If a file of those names is there that is not an untouched demo, or the folder may not be
        written to. Nothing has been written.
    """
    try:
        _refuse_to_replace(folder)
        folder.mkdir(parents=True, exist_ok=True)
        with TemporaryDirectory(dir=folder, prefix=".demo-") as making:
            headline = _made(Path(making), as_of)
            _move(Path(making), folder)
    except OSError as error:
        raise input_fault(
            f"the demo cannot be written there ({error.strerror})",
            "choose a folder that you may write to, and close its files in other programs",
            file=str(folder),
        ) from None
    return {
        "gpkg": str(folder / PLACE),
        "map": str(folder / PAGE),
        "as_of": as_of.isoformat(),
        "headline": headline,
    }


def _refuse_to_replace(folder: Path) -> None:
    made = _prints_of_earlier(folder / MADE)
    for name in (PLACE, PAGE, TRUCKS):
        path = folder / name
        beside = any((folder / f"{name}-{end}").exists() for end in ("journal", "wal"))
        if path.exists() and (beside or _fingerprint(path) not in _listed(made.get(name))):
            raise input_fault(
                "it is not as the demo made it, so it is not replaced",
                "move it away, or choose another folder",
                file=str(path),
            )


def _prints_of_earlier(record: Path) -> dict[str, Any]:
    """Return the fingerprints that an earlier demo left; none if that file is not as it wrote."""
    if not record.is_file():
        return {}
    try:
        made = json.loads(record.read_text(encoding="utf-8"))
    except (ValueError, RecursionError):
        return {}
    return made if isinstance(made, dict) else {}


def _listed(prints: object) -> list[object]:
    return prints if isinstance(prints, list) else [prints]


def _fingerprint(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else "not a file"


def _made(folder: Path, as_of: date) -> list[dict[str, str]]:
    """Make place and map in a folder of their own; return the headline."""
    place = folder / PLACE
    new(place)
    for name in FILES:
        with as_file(_scenario() / name) as file:
            layer = name.partition(".")[0]
            columns = Columns(fixed=FIXED.get(layer, {}))
            bring_in(place, Source(file, columns), layer_name=layer)
    measured = area(place, property_name=None, product=None, overrides=Overrides({}))
    judged = due(place, as_of=as_of)
    map_file(place, as_of=as_of, out=folder / PAGE)
    (folder / TRUCKS).write_bytes((_scenario() / TRUCKS).read_bytes())
    return _headline(measured, judged)


def _scenario() -> Traversable:
    try:
        return files("turfmap.demo")
    except ModuleNotFoundError:  # run from a checkout that is not installed
        return Path(__file__).parents[2] / "demo" / "scenario"


def _move(made: Path, folder: Path) -> None:
    """Put the files in their place; first of all the record that knows both these and the last.

    So the next run knows them as the demo's wherever this one is killed.
    """
    names = (PLACE, PAGE, TRUCKS)
    both = (made, folder)
    prints = {
        name: [_fingerprint(at / name) for at in both if (at / name).is_file()] for name in names
    }
    (made / MADE).write_text(json.dumps(prints), encoding="utf-8")
    for name in (MADE, *names):
        (made / name).replace(folder / name)


def _headline(measured: Mapping[str, Any], judged: Mapping[str, Any]) -> list[dict[str, str]]:
    sums = totals(dict(measured))
    rows = [
        ("Properties", f"{len({zone['property'] for zone in measured['zones']})}"),
        ("Zones", f"{len(measured['zones'])}"),
        ("Ground drawn", f"{acres(sums['gross_m2']):,.1f} ac"),
        ("Under buildings and drives", f"{acres(sums['obstacle_m2']):,.1f} ac"),
        ("No-spray ground", f"{acres(sums['no_spray_m2']):,.1f} ac"),
        ("Treatable", f"{acres(sums['treatable_m2']):,.1f} ac"),
    ]
    rows += [(f"Zones: {words}", f"{count}") for words, count in _by_state(judged["zones"])]
    return [{"what": what, "value": value} for what, value in rows]


def _by_state(zones: Iterable[Mapping[str, Any]]) -> list[tuple[str, int]]:
    """Count zones by the state of their first task, in the order of the key."""
    counts = Counter(zone["tasks"][0]["state"] if zone["tasks"] else "none" for zone in zones)
    states = table("state").rows
    return [(row["words"], counts[row["state"]]) for row in states if counts[row["state"]]]
