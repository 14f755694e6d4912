"""How our map page compares with folium's own GeoJSON layer: the same zones, the same browser.

``python tests/bench/map.py [--size 50000]`` prints one JSON object. folium's page gets its faster
way of drawing (canvas), and loads nothing from the network either. "Ready" is two frames after all
is on the map; "pan" is from the call to two frames later, the median of five. Take the ratios; the
raw figures hold for one machine on one day.
"""

import argparse
import json
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
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
from turfmap.views.map_page import MapContent, MapZone, map_page  # noqa: E402
from turfmap.views.offline_page import OfflineFigure  # noqa: E402

SEED = 20260924
ZONES_A_PROPERTY = 10
CORNERS = 27  # the mean of hand-drawn zones that the figures were measured with
WAIT_MS = 300_000

FRAMES = "requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now())))"
READY = f"() => new Promise((done) => {FRAMES})"
PAN = """([name, east]) => new Promise((done) => {
  const start = performance.now();
  globalThis[name].panBy([east, 0], { animate: false });
  requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now() - start)));
})"""

FOLIUM_FRAME = (
    "<!DOCTYPE html><html data-ready><head><meta charset='utf-8'><!-- $policy -->$head"
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


def ours(zones: list[MapZone]) -> str:
    """Return our page."""
    return map_page(MapContent("Bench", date(2026, 9, 24), zones=zones))


def foliums(zones: list[MapZone]) -> str:
    """Return folium's page of the same zones, with a name and a state each and no popups."""
    features = [
        {
            "type": "Feature",
            "properties": {"name": zone.name, "state": zone.tasks[0]["state"]},
            "geometry": shapely.geometry.mapping(zone.geometry),
        }
        for zone in zones
    ]
    figure = OfflineFigure(FOLIUM_FRAME, {})
    shell = folium.Map(tiles=None, prefer_canvas=True, zoom_control=False)
    shell._id = "bench"
    folium.GeoJson({"type": "FeatureCollection", "features": features}).add_to(shell)
    west, south, east, north = shapely.total_bounds([zone.geometry for zone in zones])
    shell.fit_bounds([[south, west], [north, east]])
    shell.add_to(figure)
    return figure.render()


def measured(
    page_maker: Callable[[list[MapZone]], str],
    map_name: str,
    zones: list[MapZone],
    browser: Browser,
) -> dict[str, float]:
    """Return size [byte], time to make [s], ready and pan [ms] of a page."""
    start = time.perf_counter()
    text = page_maker(zones)
    made_s = time.perf_counter() - start
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "page.html"
        path.write_text(text, encoding="utf-8")
        context = browser.new_context(viewport={"width": 1280, "height": 800}, offline=True)
        page = context.new_page()
        page.set_default_timeout(WAIT_MS)
        page.goto(path.as_uri(), timeout=WAIT_MS)
        page.wait_for_selector("html[data-ready]")
        ready_ms = page.evaluate(READY)
        pans_ms = [page.evaluate(PAN, [map_name, east]) for east in (150, -150, 150, -150, 150)]
        context.close()
    size = len(text.encode("utf-8"))
    pan_ms = statistics.median(pans_ms)
    return {"bytes": size, "made_s": made_s, "ready_ms": ready_ms, "pan_ms": pan_ms}


def main() -> None:
    """Measure both pages and print the ratios."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--size", type=int, default=50_000, help="how many zones")
    zones = zones_of(parser.parse_args().size)
    with sync_playwright() as playwright:
        browser = chromium(playwright)
        our = measured(ours, "map_ground", zones, browser)
        theirs = measured(foliums, "map_bench", zones, browser)
        browser.close()
    ratios = {f"{name}_ours_to_folium": our[name] / theirs[name] for name in our}
    found = {"size": len(zones), "ratios": ratios, "ours": our, "folium": theirs}
    print(json.dumps(found, indent=2))


if __name__ == "__main__":
    main()
