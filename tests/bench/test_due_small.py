"""The benchmark of the season on a small size: the ways agree, and it prints what it promises."""

import json
import subprocess
import sys
from pathlib import Path

SCRIPT = Path(__file__).with_name("due.py")


def test_bulk_and_plain_loop_find_the_same_states_and_every_ratio_has_its_figures() -> None:
    command = [sys.executable, str(SCRIPT), "--size", "60", "--sample", "20", "--repeat", "1"]
    printed = json.loads(subprocess.run(command, check=True, stdout=subprocess.PIPE).stdout)
    assert printed["agree"]
    assert printed["compared_states"] == 20 * printed["tasks"]
    assert set(printed["ratios"]) == set(printed["raw"]) >= {"loop_over_bulk", "growth_exponent"}
    for name in set(printed["ratios"]) - {"growth_exponent"}:
        raw = printed["raw"][name]
        assert printed["ratios"][name] == raw["this"] / raw["over"]
