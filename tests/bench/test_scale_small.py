"""The benchmark of growth: it prints what it promises, on places small enough to wait for."""

import json
import subprocess
import sys
from pathlib import Path

SCRIPT = Path(__file__).with_name("scale.py")


def test_every_step_has_its_growth_and_its_figures() -> None:
    command = [sys.executable, str(SCRIPT), "--size", "20"]
    printed = json.loads(subprocess.run(command, check=True, stdout=subprocess.PIPE).stdout)
    steps = {"area", "nospray", "due", "map_index"}
    wanted = {f"{step}_{what}_exponent" for step in steps for what in ("cpu", "memory")}
    assert set(printed["ratios"]) == wanted
    for size in ("2", "20"):
        assert set(printed["raw"][size]) == {"make", *steps}
        assert all(figures["peak_mb"] > 0 for figures in printed["raw"][size].values())
