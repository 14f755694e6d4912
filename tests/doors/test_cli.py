"""The command line: what it prints, how it fails, and that it leaves nothing half done."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

import turfmap.doors.cli.main as door

ROOT = Path(__file__).parents[2]
LAWN = """name,property,kind,species,wkt
Front,Alder,turf,bermuda,"POLYGON ((-84 33, -83.9995 33, -83.9995 33.0005, -84 33.0005, -84 33))"
"""


def turfmap(*arguments: str, cwd: Path, status: int = 0) -> subprocess.CompletedProcess[str]:
    """Run the command as a user would, and insist on its exit status."""
    surroundings = dict(os.environ, PYTHONPATH=str(ROOT))
    done = subprocess.run(
        [sys.executable, "-m", "turfmap", *arguments],
        cwd=cwd,
        env=surroundings,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == status, done.stdout + done.stderr
    assert "Traceback" not in done.stderr
    return done


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a place that holds one lawn."""
    folder = tmp_path_factory.mktemp("doors")
    (folder / "lawn.csv").write_text(LAWN)
    turfmap("new", "place.gpkg", cwd=folder)
    turfmap("import", "place.gpkg", "lawn.csv", "--as", "zone", cwd=folder)
    return folder


def test_the_path_from_file_to_map(folder: Path) -> None:
    found = json.loads(turfmap("area", "place.gpkg", "--json", cwd=folder).stdout)
    (zone,) = found["zones"]
    keys = {"property", "zone", "gross_m2", "obstacle_m2", "no_spray_m2", "treatable_m2", "causes"}
    assert keys <= zone.keys()
    judged = turfmap("due", "place.gpkg", "--as-of", "2026-09-24", "--json", cwd=folder).stdout
    task = json.loads(judged)["zones"][0]["tasks"][0]
    assert {"task", "state", "opens", "closes", "reasons", "holds", "sources"} <= task.keys()
    turfmap("map", "place.gpkg", "--as-of", "2026-09-24", "--out", "map.html", cwd=folder)
    assert "Front" in (folder / "map.html").read_text("utf-8")
    turfmap("nospray", "place.gpkg", "--out", "no.geojson", cwd=folder)
    assert json.loads((folder / "no.geojson").read_text())["type"] == "FeatureCollection"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["area", "nowhere.gpkg"], "nowhere.gpkg: there is no such file"),
        (["area", "place.gpkg", "--property", "Nobody"], "no property 'Nobody'"),
        (["area", "place.gpkg", "--setback", "moat=5ft"], "no category 'moat'"),
        (["area", "place.gpkg", "--setback", "pond=five"], "--setback pond"),
        (["area", "place.gpkg", "--setback", "pond=-5ft"], "not between 0 and"),
        (["area", "place.gpkg", "--margin", "9**9**9 m"], "--margin"),
        (["due", "place.gpkg", "--as-of", "24.9.2026"], "not a date"),
        (["due", "place.gpkg"], "--as-of"),
        (["import", "place.gpkg", "nowhere.csv", "--as", "zone"], "nowhere.csv"),
        (["import", "place.gpkg", "lawn.csv", "--as", "yard"], "no layer 'yard'"),
        (["import", "place.gpkg", "lawn.csv", "--as", "zone", "--map", "x"], "has no ="),
        (["new", "place.gpkg"], "already"),
        (["layers", "nothing"], "no layer or table"),
        (["map", "place.gpkg", "--as-of", "2026-01-01", "--out", "no/such/m.html"], "m.html"),
        (["mow"], "mow"),
    ],
)
def test_bad_input_gets_a_sentence_and_status_2(
    folder: Path, arguments: list[str], words: str
) -> None:
    before = (folder / "place.gpkg").read_bytes()
    done = turfmap(*arguments, cwd=folder, status=2)
    assert words in done.stderr
    assert done.stdout == ""
    assert (folder / "place.gpkg").read_bytes() == before


def test_tables_for_people_hold_what_the_json_holds(folder: Path) -> None:
    """Text from a file is never taken for markup of the terminal."""
    assert "Front" in turfmap("area", "place.gpkg", cwd=folder).stdout
    why = turfmap("due", "place.gpkg", "--as-of", "2026-09-24", "--why", "Front", cwd=folder).stdout
    assert "Because:" in why
    odd = LAWN.replace("Front", "[red]Odd[/red] [x]")
    (folder / "odd.csv").write_text(odd)
    turfmap("import", "place.gpkg", "odd.csv", "--as", "zone", cwd=folder)
    assert "[red]Odd[/red] [x]" in turfmap("area", "place.gpkg", cwd=folder).stdout


def test_every_command_says_what_it_is_for(folder: Path) -> None:
    listed = turfmap("--help", cwd=folder).stdout
    for name in ("new", "import", "area", "nospray", "due", "map", "layers", "demo"):
        assert name in listed
        assert "Example" in turfmap(name, "--help", cwd=folder).stdout


def test_a_stop_by_the_user_has_a_status_of_its_own(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """130 is 128 + 2, SIGINT's number, as shells report it (common practice, no source)."""

    def stopped(_: str) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(door, "import_module", stopped)
    monkeypatch.setattr(sys, "argv", ["turfmap", "layers"])
    with pytest.raises(SystemExit) as stop:
        door.main()
    assert stop.value.code == 130
    assert "Stopped" in capsys.readouterr().err
    for told in ((ROOT / "README.md").read_text(encoding="utf-8"), door.main.__doc__ or ""):
        assert "130" in told.partition("Exit status")[2].partition("\n\n")[0]
