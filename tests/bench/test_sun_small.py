"""The benchmark of sun on a small surface: both ways agree, and it prints its figures."""

import json
import subprocess
import sys
from pathlib import Path

SCRIPT = Path(__file__).with_name("sun.py")


def test_the_sweep_and_the_march_agree() -> None:
    command = [sys.executable, str(SCRIPT), "--size", "200", "--day", "2026-06-21"]
    printed = json.loads(subprocess.run(command, check=True, stdout=subprocess.PIPE).stdout)
    assert printed["mean_shade_h"] > 0.1
    assert printed["mean_difference_h"] < 0.05
    raw = printed["raw"]["sweep_over_march"]
    assert printed["ratios"] == {"sweep_over_march": raw["this"] / raw["over"]}
