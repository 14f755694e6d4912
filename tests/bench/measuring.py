"""Run a way of doing the work in a process of its own; count its CPU seconds and its memory.

The child imports what the way needs, reads the region and lets the way prepare itself; none of
that is counted as CPU. Its peak of memory is the whole process': libraries, input and work.
"""

import hashlib
import json
import resource
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely

from tests.bench.region import Floats, Region, Shapes, load

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True)
class Answer:
    """What every way has to find.

    Attributes
    ----------
    treatable_m2
        Of each zone that was asked for, shape (n,).
    lost_m2
        Ground that features of each category take and no feature before them took, shape (4,).
    ground
        The treatable ground itself, shape (n,).
    """

    treatable_m2: Floats
    lost_m2: Floats
    ground: Shapes


Work = Callable[[], Answer]
# A way is given the region, prepares what is not to be counted, and returns the work.
Way = Callable[[Region], Work]


def run_child(ways: Mapping[str, Way]) -> None:
    """Run the way named on the command line over a folder's region, and print its figures."""
    name, folder = sys.argv[1], Path(sys.argv[2])
    base_mb = peak_mb()
    work = ways[name](load(folder))
    input_mb = peak_mb()
    wall_s, cpu_s = time.perf_counter(), time.process_time()
    answer = work()
    wall_s, cpu_s = time.perf_counter() - wall_s, time.process_time() - cpu_s
    figures = {"cpu_s": cpu_s, "wall_s": wall_s, "peak_mb": peak_mb()}
    figures |= {"import_mb": base_mb, "input_mb": input_mb}
    np.savez(
        folder / f"{name}.npz",
        treatable_m2=answer.treatable_m2,
        lost_m2=answer.lost_m2,
        bits=[hashlib.sha256(each or b"").hexdigest() for each in shapely.to_wkb(answer.ground)],
    )
    print(json.dumps(figures))


def measured(module: str, *arguments: str | Path) -> dict[str, float]:
    """Run a module of this folder in a process of its own and return what it printed."""
    command = [sys.executable, "-m", f"tests.bench.{module}", *map(str, arguments)]
    done = subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.PIPE, text=True)
    figures: dict[str, float] = json.loads(done.stdout)
    return figures


def peak_mb() -> float:
    """Return the most memory this process has had so far [MB of 1024 x 1024 bytes]."""
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss  # kilobytes, on a Mac bytes
    return peak / 1024.0 / (1024.0 if sys.platform == "darwin" else 1.0)
