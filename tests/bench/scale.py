"""How the whole grows: area, no-spray ground, what is due and the map's page of a made-up region.

``python tests/bench/scale.py [--size N] [--repeat R]`` prints one JSON object: each step on a place
of N properties and on one of a tenth of that, each in a process of its own, from the file to the
answer. Ratios are the exponents of growth in CPU time and in memory above the libraries: 1 is in
proportion. The place is written beside, untimed by the steps; its own time stands under ``make``.
"""

import argparse
import json
import math
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import shapely

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.bench.measuring import measured, peak_mb
from tests.bench.region import CATEGORIES, PITCH_M, Floats, Region, Shapes, lonlat, made
from turfmap.desk.area import area
from turfmap.desk.area import measured as measured_place
from turfmap.desk.due import due
from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.map import no_spray_of
from turfmap.desk.nospray import nospray
from turfmap.desk.place import read_place
from turfmap.desk.protected import Overrides
from turfmap.foundations.definitions import Row, map_layer
from turfmap.store import geopackage
from turfmap.views.map_page import MapContent, MapZone, map_page

AS_OF = date(2026, 9, 24)
SEED = 20260924
DAYS_OF_WEATHER = 300
# A round of visits, by task and days before AS_OF.
VISITS = {"spring_pre_emergent": 210, "feeding_warm_season": 130, "autumn_pre_emergent": 9}
GRASSES = ("bermuda", "zoysia", "centipede", "tall_fescue")
KINDS = {"stream": "stream", "pond": "pond", "well": "well", "site": "playground"}
WHOLE: dict[str, Any] = {"property_name": None, "product": None, "overrides": Overrides({})}
Figures = dict[str, float]


def make(path: Path, properties: int) -> None:
    """Write a place of a made-up region: its ground, answers, visits and weather."""
    region = made(properties)
    geopackage.create(path)
    chance = np.random.default_rng([SEED, properties])
    with geopackage.editing(path) as connection:
        for layer, rows, shapes in (
            ("property", _properties(properties), _parcels(properties)),
            ("zone", _zones(region, chance), region.zones),
            ("obstacle", _named("Obstacle", region.obstacles, kind="building"), region.obstacles),
            *_protected(region),
            ("client_answer", _answers(properties, chance), None),
            ("visit", _visits(properties, chance), None),
            ("weather", _weather(chance), None),
        ):
            declared = map_layer(layer)
            whole = [dict.fromkeys(declared.columns) | row for row in rows]
            drawn = shapes
            if shapes is not None and declared.geometry == "area":
                drawn = geopackage.as_multi_polygons(shapes)
            geopackage.append_rows(connection, declared, whole, drawn)


def _owner(number: int) -> str:
    return f"Client {number}"


def _properties(count: int) -> list[Row]:
    about = {"state": "GA", "water_surveyed_on": "2026-03-01"}
    return [{"name": _owner(number), **about} for number in range(count)]


def _parcels(count: int) -> Shapes:
    columns = math.ceil(math.sqrt(count))
    who = np.arange(count)
    corner: Floats = PITCH_M * np.column_stack([who % columns, who // columns]).astype(float)
    low, high = lonlat(corner), lonlat(corner + PITCH_M)
    return np.asarray(shapely.box(*low.T, *high.T), dtype=object)


def _zones(region: Region, chance: np.random.Generator) -> list[Row]:
    grasses = chance.choice(GRASSES, region.zones.size)
    is_turf = region.rank == 1.0
    return [
        {"property": _owner(of), "name": f"Zone {number}"}
        | ({"kind": "turf", "species": grass} if turf else {"kind": "bed", "bed_type": "mixed"})
        for number, (of, turf, grass) in enumerate(
            zip(region.owner.tolist(), is_turf.tolist(), grasses.tolist(), strict=True)
        )
    ]


def _named(word: str, shapes: Shapes, **about: Any) -> list[Row]:
    return [{"name": f"{word} {number}", **about} for number in range(shapes.size)]


def _protected(region: Region) -> list[tuple[str, list[Row], Shapes]]:
    found = []
    for number, category in enumerate(CATEGORIES):
        shapes = region.protected[region.category == number]
        layer = "sensitive_site" if category == "site" else "water"
        about = {"kind": KINDS[category], "edge_known_by": "surveyed"}
        if category == "stream":
            about["width_m"] = 2.0  # type: ignore[assignment]
        found.append((layer, _named(category.title(), shapes, **about), shapes))
    return found


def _answers(count: int, chance: np.random.Generator) -> list[Row]:
    said = chance.choice(["none", "planned", "not_asked"], count, p=[0.7, 0.2, 0.1])
    told = chance.integers(20, 80, count)
    return [
        {
            "property": _owner(number),
            "question": "overseeding",
            "answer": str(answer),
            "date": "2026-10-10" if answer == "planned" else None,
            "answered_on": (AS_OF - timedelta(days=int(ago))).isoformat(),
        }
        for number, (answer, ago) in enumerate(zip(said, told, strict=True))
    ]


def _visits(count: int, chance: np.random.Generator) -> list[Row]:
    return [
        {
            "property": _owner(number),
            "task": task,
            "date": (AS_OF - timedelta(days=ago + int(more))).isoformat(),
        }
        for task, ago in VISITS.items()
        for number, more in enumerate(chance.integers(0, 15, count))
    ]


def _weather(chance: np.random.Generator) -> list[Row]:
    days = [AS_OF - timedelta(days=ago) for ago in range(DAYS_OF_WEATHER, -1, -1)]
    return [
        {
            "station": "North",
            "date": day.isoformat(),
            "air_min_c": 10.0 + 8.0 * math.sin((day.timetuple().tm_yday - 100) / 58.0),
            "air_max_c": 21.0 + 8.0 * math.sin((day.timetuple().tm_yday - 100) / 58.0),
            "rain_mm": float(chance.exponential(3.0)),
        }
        for day in days
    ]


def _map_index(path: Path) -> int:
    """Pack all that a map draws, and the list by which it is searched."""
    place = read_place(path, **WHOLE)
    areas, _ = measured_place(place)
    columns = (place.zones[name] for name in ("property", "name", "kind"))
    zones = [
        MapZone(of, name, kind, "", shape, row, [])
        for of, name, kind, shape, row in zip(
            *columns, shapes_of(place.zones), areas["zones"], strict=True
        )
    ]
    for zone in zones:
        for cause in zone.area["causes"]:
            cause["category_words"] = cause["category"]
    content = MapContent("Region", AS_OF, zones=zones, no_spray=no_spray_of(place))
    return len(map_page(content))


STEPS: dict[str, Callable[[Path], object]] = {
    "area": lambda path: area(path, **WHOLE),
    "nospray": lambda path: nospray(path, out=path.with_suffix(".geojson"), **WHOLE),
    "due": lambda path: due(path, as_of=AS_OF),
    "map_index": _map_index,
}


def one_step(name: str, path: Path) -> None:
    """Do a step in this process and print its figures; ``make`` is one too."""
    before_mb = peak_mb()
    wall_s, cpu_s = time.perf_counter(), time.process_time()
    STEPS[name](path)
    wall_s, cpu_s = time.perf_counter() - wall_s, time.process_time() - cpu_s
    figures = {"cpu_s": cpu_s, "wall_s": wall_s, "peak_mb": peak_mb(), "import_mb": before_mb}
    print(json.dumps(figures))


def all_steps(size: int, repeat: int) -> dict[str, Figures]:
    """Return each step's figures on a place of a number of properties, the least of the runs."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "region.gpkg"
        found = {"make": measured("scale", "--make", str(size), path)}
        for name in STEPS:
            runs = [measured("scale", "--step", name, path) for _ in range(repeat)]
            found[name] = {key: min(run[key] for run in runs) for key in runs[0]}
    return found


def grown(small: Figures, large: Figures, times: float) -> dict[str, float]:
    """Return the exponents of growth of a step from a smaller place to a larger one."""
    above_mb = [figures["peak_mb"] - figures["import_mb"] for figures in (small, large)]
    return {
        "cpu_exponent": math.log(large["cpu_s"] / small["cpu_s"]) / math.log(times),
        "memory_exponent": math.log(max(above_mb[1], 1.0) / max(above_mb[0], 1.0))
        / math.log(times),
    }


def main() -> None:
    """Read the command line, measure, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--size", type=int, default=10_000, help="properties in the larger place")
    parser.add_argument("--repeat", type=int, default=1, help="runs of each step")
    parser.add_argument("--step", nargs=2, metavar=("NAME", "PLACE"), help="this step, here")
    parser.add_argument("--make", nargs=2, metavar=("SIZE", "PLACE"), help="a place, here")
    given = parser.parse_args()
    if given.make:
        STEPS["make"] = lambda path: make(path, int(given.make[0]))
        return one_step("make", Path(given.make[1]))
    if given.step:
        return one_step(given.step[0], Path(given.step[1]))
    sizes = (max(given.size // 10, 1), given.size)
    small, large = (all_steps(size, given.repeat) for size in sizes)
    ratios = {
        f"{name}_{key}": value
        for name in STEPS
        for key, value in grown(small[name], large[name], sizes[1] / sizes[0]).items()
    }
    raw = {str(size): figures for size, figures in zip(sizes, (small, large), strict=True)}
    return print(json.dumps({"size": given.size, "ratios": ratios, "raw": raw}, indent=1))


if __name__ == "__main__":
    main()
