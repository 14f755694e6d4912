"""A place of which everything is known, for tests of the check: figures are our own."""

from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import shapely

from tests.desk.recording import table
from tests.desk.test_bring_in import SOUTH, WEST, box, geojson
from turfmap.days.conditions import Conditions
from turfmap.desk.bring_in import bring_in
from turfmap.desk.check import CheckAsked, check
from turfmap.desk.check_asked import read_conditions
from turfmap.desk.new import new
from turfmap.desk.protected import Overrides

PLAIN = Overrides({})
PRODUCT = (
    "name,active_ingredients,concentrations,rate,annual_max,wind_low_mph,wind_high_mph,air_low_f,"
    "air_high_f,droplet,reentry_h,rainfast_h,reseed_wk,retreat_d,confirmed_on"
)
CLOVER = (
    '"Clover spray","2,4-D",4 lb/gal,2 pt/acre,3 lb/acre,3,10,50,85,medium,24,4,4,30,2026-03-01'
)
GIVEN = {
    "on": "2026-10-24T11:00",
    "wind": "6 mph NW",
    "droplet": "coarse",
    "air": "71F",
    "dry_hours": "6",
    "nozzle_height": "20in",
}
POND = shapely.box(WEST - 2e-4, SOUTH, WEST - 1e-5, SOUTH + 4e-4)


def make_place(folder: Path, *, known: bool = True, **about: Any) -> Path:
    """Make a lot with a lawn beside a pond; without `known`, nobody has looked or asked."""
    path = folder / "place.gpkg"
    path.write_bytes(_made(known, tuple(sorted(about.items()))))
    return path


@lru_cache
def _made(known: bool, about: tuple[tuple[str, Any], ...]) -> bytes:
    """Return the file of a place, imported once for all tests."""
    with TemporaryDirectory() as folder:
        return _make(Path(folder), known=known, about=dict(about)).read_bytes()


def _make(folder: Path, *, known: bool, about: dict[str, Any]) -> Path:
    path = folder / "place.gpkg"
    new(path)
    lot = {"name": "Alder", "state": "GA"} | ({"water_surveyed_on": "2026-01-05"} if known else {})
    layers = {
        "property": (box(-3e-4, 0, 1e-3), lot | about),
        "zone": (box(0, 0), {"name": "Front", "kind": "turf", "species": "bermuda"}),
        "water": (POND, {"name": "Mill pond", "kind": "pond"}),
    }
    for layer, feature in layers.items():
        bring_in(path, geojson(folder / f"{layer}.geojson", feature), layer_name=layer)
    table(path, "product", PRODUCT, CLOVER)
    if known:
        questions = {"overseeding": "none", "turf_dry": "no", "weeds_in_bloom": "none"}
        answers = [f"Alder,{name},{said},2026-10-23" for name, said in questions.items()]
        table(path, "client_answer", "property,question,answer,answered_on", *answers)
    return path


def conditions(**changed: str | None) -> Conditions:
    """Return what is given, with some of it changed or taken away."""
    return read_conditions({**GIVEN, **changed})


def checked(path: Path, overrides: Overrides = PLAIN, **changed: str | None) -> dict[str, Any]:
    """Return the whole answer for the lot."""
    asked = CheckAsked("Alder", "Clover spray", conditions(**changed))
    return check(path, asked, overrides=overrides)


def front(path: Path, overrides: Overrides = PLAIN, **changed: str | None) -> dict[str, Any]:
    """Return the answer for the lawn."""
    (zone,) = checked(path, overrides, **changed)["zones"]
    return dict(zone)
