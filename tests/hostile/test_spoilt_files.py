"""Spoilt files of every kind that the program reads: a sentence each, bounded, nothing written.

The long form is ``TURFMAP_LONG=1 python -m pytest -s tests/hostile``; it prints its count.
"""

import os
from pathlib import Path

import pytest

from tests.desk.recording import make_place
from tests.hostile.kinds import all_kinds, empty
from tests.hostile.trying import report, tried

LONG = bool(os.environ.get("TURFMAP_LONG"))
COUNT, SEED = (60, 2) if LONG else (1, 1)
# A picture that does not say where it lies is refused, whole as it is.
REFUSED_WHOLE = {"draft png: good", "draft jpg: good"}


def test_spoilt_files_are_refused_or_read(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = make_place(tmp_path)
    kinds = all_kinds(empty(tmp_path / "good"), place)
    trials = [trial for kind in kinds for trial in kind.trials(tmp_path, seed=SEED, count=COUNT)]
    outcomes = tried(trials, place, tmp_path, out=("out", "out.html", "out.geojson"))
    line, bad = report(outcomes)
    with capsys.disabled():
        print(f"\n{line}")  # noqa: T201 - the count is what this run is for
    assert not bad, "\n".join(bad)
    whole = {one.name: one for one in outcomes if one.name.endswith(": good")}
    refused = {name for name, one in whole.items() if one.status}
    assert refused == REFUSED_WHOLE, {name: whole[name].said for name in refused}
