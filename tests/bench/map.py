"""How our map page compares with folium's own GeoJSON layer: the same ground, the same browser.

``python tests/bench/map.py [--size 50000] [--repeat 3]`` prints one JSON object: every ratio with
its two figures beside it. Both maps have the same zones and, one for ten of them, round no-spray
ground. folium's gets its faster way of drawing (canvas), no colours, no popups and no list, and
loads nothing from the network either. "Ready" is two frames after all is on the map; "pan" is from
the call to two frames later, the median of five. The pages are opened in turn, and the best of each
counts: other work on the machine can only make a page slower. Take the ratios; the raw figures hold
for one machine on one day.
"""

import argparse
import json
import statistics
import sys
import tempfile
import time
from datetime import date
from pathlib import Path
from typing import Any

import folium
import numpy as np
import shapely
from playwright.sync_api import Browser, sync_playwright
from shapely.geometry.base import BaseGeometry

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.browser.chromium import chromium  # noqa: E402
from tests.views.sample import TASKS, task  # noqa: E402
from turfmap.views.map_page import MapContent, MapNoSpray, MapZone, map_page  # noqa: E402
from turfmap.views.offline_page import OfflineFigure  # noqa: E402

SEED = 20260924
ZONES_A_PROPERTY = 10
CORNERS = 27  # the mean of hand-drawn zones that the figures were measured with
ZONES_A_CIRCLE = 10
LARGEST_MB = 6  # what a map of 50,000 zones may weigh
WAIT_MS = 300_000

FRAMES = "requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now())))"
READY = f"() => new Promise((done) => {FRAMES})"
PAN = """([name, east]) => new Promise((done) => {
  const start = performance.now();
  globalThis[name].panBy([east, 0], { animate: false });
  requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now() - start)));
})"""

FOLIUM_FRAME = (
    "<!DOCTYPE html><html data-ready><head><meta charset='utf-8'><!-- $$policy -->$head"
    "<style>html,body{height:100%;margin:0}</style></head><body>$map $script</body></html>"
)


def zones_of(size: int) -> list[MapZone]:
    """Return invented zones, ten a property on a grid of lots, one in five with a hole."""
    random = np.random.default_rng(SEED)
    side = int(np.ceil(np.sqrt(size / ZONES_A_PROPERTY)))
    states = list(TASKS)
    zones = []
    for place in range(size):
        owner, number = divmod(place, ZONES_A_PROPERTY)
        east, north = (owner % side) * 1.2e-3, (owner // side) * 9e-4
        centre = np.array([-89 + east + number % 4 * 2.4e-4, 40 + north + number // 4 * 2.4e-4])
        angles = np.sort(random.uniform(0, 2 * np.pi, CORNERS))
        reach = 1e-4 * random.uniform(0.75, 1.0, CORNERS)
        ring = centre + np.column_stack([reach * np.cos(angles), reach * np.sin(angles)])
        shape: BaseGeometry = shapely.Polygon(ring)
        if number % 5 == 0:
            shape = shape.difference(shapely.Point(centre).buffer(2e-5, quad_segs=2))
        area: dict[str, Any] = {"gross_m2": 300.0, "obstacle_m2": 0.0, "no_spray_m2": 20.0}
        area |= {"treatable_m2": 280.0, "causes": []}
        tasks = [task(states[random.integers(len(states))]), task("later")]
        names = (f"Property {owner}", f"Zone {number}", "Turf", "Tall fescue")
        zones.append(MapZone(*names, shape, area, tasks))
    return zones


def circles_of(zones: list[MapZone]) -> list[MapNoSpray]:
    """Return no-spray ground round the middle of every tenth zone, drawn as setbacks are."""
    middles = shapely.centroid([zone.geometry for zone in zones[::ZONES_A_CIRCLE]])
    grounds = shapely.buffer(middles, 8e-5, quad_segs=32)
    return [
        MapNoSpray("pond", f"Pond {place}", 7.62, 1.0, ground)
        for place, ground in enumerate(grounds)
    ]


def ours(zones: list[MapZone], no_spray: list[MapNoSpray]) -> str:
    """Return our page."""
    return map_page(MapContent("Bench", date(2026, 9, 24), zones=zones, no_spray=no_spray))


def foliums(zones: list[MapZone], no_spray: list[MapNoSpray]) -> str:
    """Return folium's page of the same ground, with a name and a state each and no popups."""
    named = [(zone.name, zone.tasks[0]["state"], zone.geometry) for zone in zones]
    named += [(ground.name, "no-spray", ground.geometry) for ground in no_spray]
    features = [
        {
            "type": "Feature",
            "properties": {"name": name, "state": state},
            "geometry": shapely.geometry.mapping(shape),
        }
        for name, state, shape in named
    ]
    figure = OfflineFigure(FOLIUM_FRAME, {})
    shell = folium.Map(tiles=None, prefer_canvas=True, zoom_control=False)
    shell._id = "bench"
    folium.GeoJson({"type": "FeatureCollection", "features": features}).add_to(shell)
    west, south, east, north = shapely.total_bounds([zone.geometry for zone in zones])
    shell.fit_bounds([[south, west], [north, east]])
    shell.add_to(figure)
    return figure.render()


def opened(path: Path, map_name: str, browser: Browser) -> dict[str, float]:
    """Return ready and pan [ms] of a page that is opened once."""
    context = browser.new_context(viewport={"width": 1280, "height": 800}, offline=True)
    page = context.new_page()
    page.set_default_timeout(WAIT_MS)
    page.goto(path.as_uri(), timeout=WAIT_MS)
    page.wait_for_selector("html[data-ready]")
    ready_ms = page.evaluate(READY)
    pans_ms = [page.evaluate(PAN, [map_name, east]) for east in (150, -150, 150, -150, 150)]
    context.close()
    return {"ready_ms": ready_ms, "pan_ms": statistics.median(pans_ms)}


def measured(size: int, repeat: int) -> dict[str, dict[str, float]]:
    """Return what each page weighs, takes to make, to be ready and to pan."""
    zones = zones_of(size)
    no_spray = circles_of(zones)
    found: dict[str, dict[str, float]] = {}
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        for name, maker, _ in PAGES:
            start = time.perf_counter()
            text = maker(zones, no_spray)
            found[name] = {"made_s": time.perf_counter() - start, "bytes": len(text.encode())}
            (Path(folder) / f"{name}.html").write_text(text, encoding="utf-8")
        browser = chromium(playwright)
        for _ in range(repeat):
            for name, _, map_name in PAGES:
                times = opened(Path(folder) / f"{name}.html", map_name, browser)
                for what, value in times.items():
                    found[name][what] = min(value, found[name].get(what, value))
        browser.close()
    return found


PAGES = (("ours", ours, "map_ground"), ("folium", foliums, "map_bench"))


def main() -> None:
    """Measure both pages and print the ratios."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--size", type=int, default=50_000, help="how many zones")
    parser.add_argument("--repeat", type=int, default=3, help="how often each page is opened")
    asked = parser.parse_args()
    found = measured(asked.size, asked.repeat)
    raw = {
        f"{what}_ours_over_folium": {"this": value, "over": found["folium"][what]}
        for what, value in found["ours"].items()
    }
    size_limit = {"this": found["ours"]["bytes"], "over": LARGEST_MB * 1e6}
    raw["bytes_ours_over_6_mb"] = size_limit
    ratios = {name: figures["this"] / figures["over"] for name, figures in raw.items()}
    print(json.dumps({"size": asked.size, "ratios": ratios, "raw": raw}, indent=2))


if __name__ == "__main__":
    main()
