"""``turfmap check``: JSON for programs, words for people, 2 for what is not understood."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from tests.desk.checking import make_place
from tests.desk.test_bring_in import SOUTH, WEST
from turfmap.doors.cli.main import turfmap
from turfmap.foundations.errors import InputFaultsError

GIVEN = [
    *("--on", "2026-10-24T11:00", "--wind", "6 mph NW", "--droplet", "coarse", "--air", "71F"),
    *("--dry-hours", "6", "--nozzle-height", "20in"),
]
WHAT = ["--property", "Alder", "--product", "Clover spray"]


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a place of which everything is known; no test changes it."""
    return make_place(tmp_path_factory.mktemp("door"))


def run(place: Path, *arguments: str) -> str:
    result = CliRunner().invoke(turfmap, ["check", str(place), *arguments], catch_exceptions=False)
    assert result.exit_code == 0
    return result.stdout


def test_json_holds_an_answer_with_reasons_for_each_zone(place: Path) -> None:
    (zone,) = json.loads(run(place, *WHAT, *GIVEN, "--json"))["zones"]
    assert (zone["zone"], zone["answer"]) == ("Front", "go")
    assert zone["reasons"]
    less = json.loads(run(place, *WHAT, *GIVEN[:-4], "--json"))["zones"][0]
    assert less["answer"] == "wait"
    assert less["would_change"]


def test_people_read_words_and_who_decides(place: Path) -> None:
    told = run(place, *WHAT, *GIVEN)
    assert "GO" in told
    assert "The label, local rules and a licensed person decide." in told
    told = run(place, *WHAT, *GIVEN[2:])
    assert "WAIT" in told
    assert "What would change Front" in told


def test_positions_and_tracks(place: Path, tmp_path: Path) -> None:
    spot = f"{WEST + 3e-4},{SOUTH + 2e-4}"
    found = json.loads(
        run(place, "--product", "Clover spray", "--at", spot, "--accuracy", "5m", *GIVEN, "--json")
    )
    assert found["positions"][0]["state"] == "outside"
    assert found["zones"][0]["answer"] == "go"
    alone = json.loads(run(place, "--product", "Clover spray", "--at", spot, "--json"))
    assert (alone["positions"][0]["state"], alone["zones"]) == ("outside", [])
    track = tmp_path / "walk.gpx"
    points = "".join(f'<trkpt lat="{SOUTH + 2e-4}" lon="{WEST + n * 1e-4}"/>' for n in range(4))
    track.write_text(
        '<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>'
        f"{points}</trkseg></trk></gpx>",
        encoding="utf-8",
    )
    told = run(place, "--product", "Clover spray", "--track", str(track), "--accuracy", "1m")
    assert "STOP: inside no-spray" in told
    assert "1 stop" in told


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--product", "Clover spray", "--wind", "6"], "the wind '6' is not understood"),
        ([*GIVEN], "--product"),
        (["--product", "moonshine"], "no product or active ingredient"),
        (["--product", "Clover spray", "--at", "1"], "is no place"),
        (["--product", "Clover spray", "--zone", "Attic"], "there is no zone 'Attic'"),
    ],
)
def test_what_is_not_understood_is_a_fault(place: Path, arguments: list[str], words: str) -> None:
    with pytest.raises(InputFaultsError) as told:
        run(place, *arguments)
    assert words in str(told.value)


def test_all_faults_are_told_at_once(place: Path) -> None:
    with pytest.raises(InputFaultsError) as told:
        run(place, "--wind", "6", "--air", "71")
    assert len(told.value.faults) == 3
