"""How the ground floor compares: with the usual recipe, with bare GEOS, and with itself.

``python tests/bench/ground.py [--size N] [--repeat K] [--growth]`` prints one JSON object. Every
way runs in a process of its own on the same region; CPU figures are medians over the repeats.
"""

import argparse
import json
import math
import statistics
import sys
import tempfile
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.bench.measuring import measured
from tests.bench.region import EDITS

Figures = dict[str, float]

# Which module knows each way.
WAYS = {
    "full": "turfmap_way",
    "bare": "bare_geos",
    "overlay": "overlay_recipe",
    "published": "turfmap_way",
    "product_change": "turfmap_way",
    "two_threads": "turfmap_way",
    "one_edit": "turfmap_way",
    "overlay_one_edit": "overlay_recipe",
}
# A UTM zone is out by up to 0.04 % in length and a buffer of 16 segments by 0.3 %.
RECIPES_ERROR = 1e-3
BARE_ERROR = 1e-5


def main() -> None:
    """Read the command line, measure, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--size", type=int, default=10_000, help="properties in the region")
    parser.add_argument("--repeat", type=int, default=3, help="runs of each way")
    parser.add_argument(
        "--growth", action="store_true", help="growth from SIZE to ten times SIZE, not from a tenth"
    )
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        found = compared(Path(folder), given.size, given.repeat)
    other = given.size * 10 if given.growth else max(given.size // 10, 1)
    with tempfile.TemporaryDirectory() as folder:
        measured("region", other, folder)
        full = _median([measured("turfmap_way", "full", folder) for _ in range(given.repeat)])
    found["figures"] |= {f"full at {other}": full}
    found["ratios"] |= _growth(found["figures"]["full"], given.size, full, other)
    print(json.dumps(found, indent=1))


def compared(folder: Path, size: int, repeat: int) -> dict[str, dict[str, object]]:
    """Run every way on one region and return its figures, the ratios, and how well they agree."""
    measured("region", size, folder)
    runs: dict[str, list[Figures]] = {way: [] for way in WAYS}
    for _ in range(repeat):
        for way, module in WAYS.items():
            runs[way].append(measured(module, way, folder))
    figures = {way: _median(each) for way, each in runs.items()}
    return {
        "size": size,
        "repeat": repeat,
        "ratios": _ratios(figures, size),
        "agreement": _agreement(folder),
        "figures": figures,
    }


def _median(runs: list[Figures]) -> Figures:
    return {key: statistics.median(run[key] for run in runs) for key in runs[0]}


def _ratios(figures: dict[str, Figures], size: int) -> dict[str, object]:
    full, bare, overlay = figures["full"], figures["bare"], figures["overlay"]

    def cpu(one: str, other: str) -> dict[str, float]:
        return _ratio(figures[one]["cpu_s"], figures[other]["cpu_s"])

    return {}
