"""``turfmap crew`` and ``turfmap sheet`` as they are typed."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from tests.desk.checking import make_place
from turfmap.doors.cli.main import turfmap
from turfmap.foundations.errors import InputFaultsError

GIVEN = ["--product", "Clover spray", "--wind", "6 mph NW", "--droplet", "coarse", "--air", "71F"]
GIVEN += ["--dry-hours", "6", "--nozzle-height", "20in"]


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> str:
    return str(make_place(tmp_path_factory.mktemp("doors")))


def test_both_are_written_and_say_what_was_found(place: str, tmp_path: Path) -> None:
    hour = ["--on", "2026-10-24T11:00"]
    for command, out in (("crew", tmp_path / "crew.html"), ("sheet", tmp_path / "sheet.html")):
        done = CliRunner().invoke(turfmap, [command, place, *GIVEN, *hour, "--out", str(out)])
        assert done.exit_code == 0, done.output
        assert "GO" in done.output
        assert out.read_text("utf-8").startswith("<!DOCTYPE html>")


def test_a_day_alone_is_taken_and_nothing_is_a_go(place: str, tmp_path: Path) -> None:
    out = tmp_path / "crew.html"
    typed = ["crew", place, *GIVEN, "--on", "2026-10-24", "--out", str(out), "--json"]
    done = CliRunner().invoke(turfmap, typed)
    [one] = json.loads(done.output)["properties"]
    assert [zone["answer"] for zone in one["zones"]] == ["wait"]


def test_all_that_is_not_understood_is_told_at_once(place: str, tmp_path: Path) -> None:
    wrong = ["--wind", "brisk", "--air", "warm", "--rate", "much", "--tank", "big"]
    typed = ["crew", place, *wrong, "--out", str(tmp_path / "crew.html")]
    done = CliRunner().invoke(turfmap, typed)
    assert isinstance(done.exception, InputFaultsError)
    records = {fault.record for fault in done.exception.faults}
    assert {"--wind", "--air", "--rate", "--tank", "--on"} <= records
