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
    "overlay_gross": "overlay_recipe",
    "published": "turfmap_way",
    "product_change": "turfmap_way",
    "two_threads": "turfmap_way",
    "one_edit": "turfmap_way",
    "overlay_one_edit": "overlay_recipe",
}
# At the edge of its zone UTM is out by 0.11 % in area, and a buffer of 16 segments falls short.
RECIPES_ERROR = 2e-3
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
        runs = measured_all(Path(folder), given.size, given.repeat)
        agreement = agreement_of(Path(folder))
    other = given.size * 10 if given.growth else max(given.size // 10, 1)
    with tempfile.TemporaryDirectory() as folder:
        measured("region", str(other), folder)
        again = medians([measured(WAYS["full"], "full", folder) for _ in range(given.repeat)])
    raw = compared(runs, given.size)
    ratios: Figures = {name: pair["this"] / pair["over"] for name, pair in raw.items()}
    growth = math.log(again["cpu_s"] / runs["full"]["cpu_s"]) / math.log(other / given.size)
    ratios["growth_exponent"] = growth
    raw["growth_exponent"] = {f"cpu_s_at_{given.size}": runs["full"]["cpu_s"]}
    raw["growth_exponent"] |= {f"cpu_s_at_{other}": again["cpu_s"]}
    found = {"size": given.size, "repeat": given.repeat, "ratios": ratios, "raw": raw}
    print(json.dumps(found | {"agreement": agreement, "runs": runs}, indent=1))


def measured_all(folder: Path, size: int, repeat: int) -> dict[str, Figures]:
    """Run every way on one region, one after another, and return the medians."""
    measured("region", str(size), folder)
    runs: dict[str, list[Figures]] = {way: [] for way in WAYS}
    for _ in range(repeat):
        for way, module in WAYS.items():
            runs[way].append(measured(module, way, folder))
    return {way: medians(each) for way, each in runs.items()}


def medians(runs: list[Figures]) -> Figures:
    """Return the median of each figure; of the wall clock the least, as others only add to it."""
    middle = {key: statistics.median(run[key] for run in runs) for key in runs[0]}
    return middle | {"wall_s": min(run["wall_s"] for run in runs)}


def compared(runs: dict[str, Figures], size: int) -> dict[str, Figures]:
    """Return the two figures behind each ratio."""
    full, edit, threads = runs["full"], runs["one_edit"], runs["two_threads"]

    def pair(figure: str, this: Figures, over: Figures) -> Figures:
        return {"this": this[figure], "over": over[figure]}

    above_import_kb = 1024.0 * (full["peak_mb"] - full["import_mb"])
    return {
        "overlay_over_core_cpu": pair("cpu_s", runs["overlay"], full),
        "overlay_gross_over_core_cpu": pair("cpu_s", runs["overlay_gross"], full),
        "overlay_over_core_memory": pair("peak_mb", runs["overlay"], full),
        "core_over_bare_geos": pair("cpu_s", full, runs["bare"]),
        "memory_kb_per_property": {"this": above_import_kb, "over": size},
        "edit_over_geopandas": pair("cpu_s", edit, runs["overlay_one_edit"]),
        "product_change_over_full": pair("cpu_s", runs["product_change"], full),
        # Of the wall clock: it takes a second core that is free.
        "two_threads_speedup": pair("wall_s", full, threads),
        "two_threads_cores_used": {"this": threads["cpu_s"], "over": threads["wall_s"]},
        "publishing_over_full": pair("cpu_s", runs["published"], full),
    }


def agreement_of(folder: Path) -> dict[str, float | bool]:
    """Compare what the ways found; the recipe only as well as its own error allows."""
    ways = ("full", "bare", "overlay", "one_edit", "two_threads", "product_change")
    full, bare, overlay, edit, threads, change = (np.load(folder / f"{way}.npz") for way in ways)
    treatable_m2 = full["treatable_m2"]
    edited = np.arange(EDITS) * treatable_m2.size // EDITS
    total_m2 = treatable_m2.sum()
    of_bare = bare["treatable_m2"].sum() / total_m2 - 1.0
    of_overlay = overlay["treatable_m2"].sum() / total_m2 - 1.0
    lost_bare = np.abs(bare["lost_m2"] / full["lost_m2"] - 1.0).max()
    lost_overlay = np.abs(overlay["lost_m2"] / full["lost_m2"] - 1.0).max()
    return {
        "treatable_m2": float(total_m2),
        "bare_treatable_off": float(of_bare),
        "bare_largest_zone_off_m2": float(np.abs(bare["treatable_m2"] - treatable_m2).max()),
        "bare_lost_off": float(lost_bare),
        "overlay_treatable_off": float(of_overlay),
        "overlay_lost_off": float(lost_overlay),
        "edit_identical": bool((edit["bits"] == full["bits"][edited]).all()),
        "two_threads_identical": bool((threads["bits"] == full["bits"]).all()),
        "product_change_identical": bool((change["bits"] == full["bits"]).all()),
        "agree": bool(
            abs(of_bare) < BARE_ERROR
            and abs(of_overlay) < RECIPES_ERROR
            and lost_bare < 10 * BARE_ERROR
            and lost_overlay < 10 * RECIPES_ERROR
        ),
    }


if __name__ == "__main__":
    main()
