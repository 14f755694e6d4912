"""How fast hours of sun are reckoned: the sweep against a plain march from every cell to the sun.

``python tests/bench/sun.py [--size CELLS] [--day YYYY-MM-DD] [--things N]`` prints one JSON object.

A surface of SIZE by SIZE cells of 1 m with houses and trees, one day, steps of 15 minutes. The
march is numpy too: it moves the whole array a cell towards the sun until nothing on it is high
enough to reach further. Each runs in a process of its own; ratios are of CPU seconds. They differ
along the edges of shadows, by half a cell, so their mean difference grows with the shade there is:
it is printed in hours and as a share of that shade.
"""

import argparse
import json
import sys
import tempfile
import time
from datetime import date
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.bench.measuring import measured, peak_mb
from tests.ground.plain_march import marched
from turfmap.ground.shadows import scene
from turfmap.ground.sun import SunDay, sun_hours, sun_positions

STEP_H = 0.25
LOWEST_SUN_DEG = 3.0
LONGITUDE, LATITUDE = -83.0, 33.5
# Houses and trees on a square kilometre; a dense suburb has several times as many.
THINGS = 300


def surface(size: int, things: int) -> NDArray[np.float32]:
    """Make gentle ground with houses and round crowns on it, from a seed."""
    rng = np.random.default_rng(7)
    north, east = np.mgrid[0:size, 0:size].astype(np.float32)
    ground = 4.0 * np.sin(north / 170.0) + 3.0 * np.cos(east / 210.0)
    for _ in range(int(things * (size / 1000.0) ** 2)):
        row, column = rng.integers(0, size - 16, 2)
        tall = rng.uniform(4.0, 18.0)
        if rng.random() < 0.3:
            ground[row : row + rng.integers(8, 14), column : column + rng.integers(8, 14)] += 7.0
        else:
            reach = int(rng.integers(2, 7))
            up, right = np.ogrid[-reach : reach + 1, -reach : reach + 1]
            crown = np.sqrt(np.maximum(1.0 - (up**2 + right**2) / (reach + 0.5) ** 2, 0.0))
            patch = ground[row : row + 2 * reach + 1, column : column + 2 * reach + 1]
            patch += (tall * crown)[: patch.shape[0], : patch.shape[1]].astype(np.float32)
    made: NDArray[np.float32] = ground.astype(np.float32)
    return made


def swept(heights: NDArray[np.float32], day: SunDay) -> NDArray[np.float32]:
    """Reckon hours as turfmap does."""
    return sun_hours(scene(heights, None, 1.0), None, [day])


def plain(heights: NDArray[np.float32], day: SunDay) -> NDArray[np.float32]:
    """Reckon hours by marching."""
    hours = np.zeros(heights.shape, dtype=np.float32)
    for azimuth, elevation in zip(day.azimuth_deg, day.elevation_deg, strict=True):
        hours += np.float32(STEP_H) * marched(heights, float(azimuth), float(elevation))
    return hours


WAYS = {"sweep": swept, "march": plain}


def sun_day(day: date) -> SunDay:
    """Return the sun's way over a day."""
    azimuth, elevation = sun_positions(
        day, longitude=LONGITUDE, latitude=LATITUDE, step_h=STEP_H, above_deg=LOWEST_SUN_DEG
    )
    return SunDay(day, 1, azimuth, elevation, STEP_H)


def run_child(way: str, folder: Path, day: date) -> None:
    """Run one way and print its figures."""
    heights, sun = np.load(folder / "heights.npy"), sun_day(day)
    before_mb = peak_mb()
    wall_s, cpu_s = time.perf_counter(), time.process_time()
    hours = WAYS[way](heights, sun)
    cpu_s, wall_s = time.process_time() - cpu_s, time.perf_counter() - wall_s
    np.save(folder / f"{way}.npy", hours)
    grown_mb = peak_mb() - before_mb
    print(json.dumps({"cpu_s": cpu_s, "wall_s": wall_s, "peak_mb": peak_mb(), "work_mb": grown_mb}))


def main() -> None:
    """Read the command line, measure, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--size", type=int, default=2_000, help="cells a side")
    parser.add_argument("--day", type=date.fromisoformat, default=date(2026, 12, 21))
    parser.add_argument("--things", type=int, default=THINGS, help="on a square kilometre")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        np.save(folder / "heights.npy", surface(given.size, given.things))
        runs = {way: measured("sun", way, folder, given.day.isoformat()) for way in WAYS}
        hours = {way: np.load(folder / f"{way}.npy").astype(float) for way in WAYS}
    sun = sun_day(given.day)
    shade_h = STEP_H * sun.elevation_deg.size - hours["march"]
    differing = hours["sweep"] - hours["march"]
    raw = {"sweep_over_march": {"this": runs["sweep"]["cpu_s"], "over": runs["march"]["cpu_s"]}}
    found = {
        "size": given.size,
        "day": given.day.isoformat(),
        "positions": int(sun.elevation_deg.size),
        "ratios": {name: pair["this"] / pair["over"] for name, pair in raw.items()},
        "raw": raw,
        "cpu_ms_a_megacell_and_position": {
            way: 1e9 * run["cpu_s"] / given.size**2 / sun.elevation_deg.size
            for way, run in runs.items()
        },
        "peak_mb": {way: run["peak_mb"] for way, run in runs.items()},
        "work_mb": {way: run["work_mb"] for way, run in runs.items()},
        "mean_shade_h": float(shade_h.mean()),
        "mean_difference_h": float(np.abs(differing).mean()),
        "mean_difference_of_shade": float(np.abs(differing).mean() / shade_h.mean()),
        "bias_h": float(differing.mean()),
        "p99_difference_h": float(np.quantile(np.abs(differing), 0.99)),
    }
    print(json.dumps(found, indent=1))


if __name__ == "__main__":
    if len(sys.argv) > 1 and sys.argv[1] in WAYS:
        run_child(sys.argv[1], Path(sys.argv[2]), date.fromisoformat(sys.argv[3]))
    else:
        main()
