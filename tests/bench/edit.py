"""How fast the map follows one edit: against its whole property, and against the whole file.

``python tests/bench/edit.py [--size ZONES] [--edits K] [--repeat R]`` prints one JSON object.

One edit is everything from writing one redrawn zone into the file (judged, in one transaction, with
its change log) to the new colours, areas and no-spray ground of the zones that it touched. Every
way runs in a process of its own on the same file; ratios are of CPU seconds, medians over the
edits; milliseconds of the clock stand beside. The whole property is recomputed by the pieces of
work that the command line runs (``area`` and ``due`` of it), which read the whole file.
"""

import argparse
import json
import statistics
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.bench.measuring import measured

Figures = dict[str, float]

# How often each way is done in one run; a run over everything is as long as many edits.
TIMES = {"edit": 1.0, "measure": 1.0, "property": 0.25, "property_in_part": 1.0, "file": 0.1}


def main() -> None:
    """Read the command line, measure, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--size", type=int, default=10_000, help="zones in the file")
    parser.add_argument("--edits", type=int, default=20, help="zones that are redrawn")
    parser.add_argument("--repeat", type=int, default=1, help="runs of each way")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "place.gpkg"
        measured("edit_way", "make", file, str(given.size))
        runs = {
            way: medians(
                [
                    measured("edit_way", way, file, str(max(round(share * given.edits), 1)))
                    for _ in range(given.repeat)
                ]
            )
            for way, share in TIMES.items()
        }
    raw = {
        name: {"this": runs[this]["cpu_s"], "over": runs[over]["cpu_s"]}
        for name, (this, over) in RATIOS.items()
    }
    found = {
        "size": given.size,
        "edits": given.edits,
        "ratios": {name: pair["this"] / pair["over"] for name, pair in raw.items()},
        "raw": raw,
        "milliseconds": {
            way: {
                "median": 1e3 * figures["wall_s"],
                "worst": 1e3 * figures["worst_wall_s"],
            }
            for way, figures in runs.items()
        },
        "identical": bool(runs["edit"]["identical"]),
        "zones_computed_an_edit": runs["edit"]["zones_computed"],
    }
    print(json.dumps(found, indent=1))


RATIOS = {
    "edit_over_property": ("edit", "property"),
    # The same by the way of an edit, without its writing: what reading only what is near leaves.
    "edit_over_property_in_part": ("edit", "property_in_part"),
    "edit_over_file": ("edit", "file"),
    "measure_over_property": ("measure", "property"),
}


def medians(runs: list[Figures]) -> Figures:
    """Return the median of each figure over the runs."""
    return {key: statistics.median(run[key] for run in runs) for key in runs[0]}


if __name__ == "__main__":
    main()
