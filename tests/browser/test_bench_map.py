"""The benchmark of maps prints what it promises: each ratio with its two figures beside it."""

import json
import subprocess
import sys
from pathlib import Path

SCRIPT = Path(__file__).parents[1] / "bench" / "map.py"


def test_every_ratio_stands_beside_its_figures() -> None:
    command = [sys.executable, str(SCRIPT), "--size", "200", "--repeat", "1"]
    printed = json.loads(subprocess.run(command, check=True, stdout=subprocess.PIPE).stdout)
    assert printed["size"] == 200
    assert set(printed["ratios"]) == set(printed["raw"])
    assert set(printed["ratios"]) >= {"ready_ms_ours_over_folium", "pan_ms_ours_over_folium"}
    for name, ratio in printed["ratios"].items():
        assert ratio == printed["raw"][name]["this"] / printed["raw"][name]["over"]
