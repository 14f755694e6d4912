"""The benchmark of one edit on a small file: part and whole agree, and it prints its figures."""

import json
import subprocess
import sys
from pathlib import Path

SCRIPT = Path(__file__).with_name("edit.py")


def test_an_edit_gives_what_a_run_over_everything_gives() -> None:
    command = [sys.executable, str(SCRIPT), "--size", "60", "--edits", "4"]
    printed = json.loads(subprocess.run(command, check=True, stdout=subprocess.PIPE).stdout)
    assert printed["identical"]
    assert 1.0 <= printed["zones_computed_an_edit"] < 15
    assert set(printed["ratios"]) == set(printed["raw"])
    assert set(printed["ratios"]) >= {"edit_over_property", "edit_over_file"}
    for name, ratio in printed["ratios"].items():
        assert ratio == printed["raw"][name]["this"] / printed["raw"][name]["over"]
    assert set(printed["milliseconds"]) == {
        "edit",
        "measure",
        "property",
        "property_in_part",
        "file",
    }
