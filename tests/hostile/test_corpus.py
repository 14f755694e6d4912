"""Inputs that once broke something, or are made to: kept by name, tried on the commands."""

import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from tests.desk.recording import make_place
from tests.hostile.kinds import BUSINESS, DAYS, TRUCKS
from tests.hostile.trying import ROOT, Trial, report, tried

CORPUS = Path(__file__).parent / "corpus"
WITH_TRUCKS = (*DAYS, "--trucks", "trucks.csv")
LETTER = ("notice", "place.gpkg", "--questions", "--as-of", "2026-09-24", "--out", "out")
# What reads a file of the corpus, by the first word of its name; "?" is the file's own name.
READ_BY = {
    "roads": (*WITH_TRUCKS, "--roads", "?"),
    "forecast": (*WITH_TRUCKS, "--forecast", "?"),
    "trucks": (*DAYS, "--trucks", "?"),
    "visits": ("record", "place.gpkg", "--from", "?"),
    "template": (*LETTER, "--style", "style"),
}
# Its sentence, where the file is in doubt and not merely told to be damaged.
SAYS = {
    "roads-empty.osm": "it is empty",
    "roads-no-road.osm": "holds no road near the stops",
    "roads-entities.osm": "cannot be read as an extract",
}
# What another program may write into a place: each is one statement of SQL.
WRITTEN = {
    "a shape that is rubbish": "UPDATE zone SET geom = x'0047500000000000ff'",
    "a shape that says it has 2^32 corners": (
        "UPDATE zone SET geom = x'47500001E6100000' || x'010300000001000000FFFFFFFF'"
    ),
    "a shape that is text": "UPDATE water SET geom = 'POLYGON'",
    "text for a number": "UPDATE zone SET position_margin_m = '9<b>', sun_hours = 'x'",
    "infinity for a number": "UPDATE water SET position_margin_m = 9e999",
    "a blob for a name": "UPDATE zone SET name = x'ff00fe'",
    "a view for a table": "ALTER TABLE gate RENAME TO g; CREATE VIEW gate AS SELECT * FROM g",
    "a view that never ends": (
        "ALTER TABLE gate RENAME TO g; CREATE VIEW gate AS WITH RECURSIVE n(fid) AS"
        " (SELECT 1 UNION ALL SELECT fid + 1 FROM n) SELECT fid, '' AS id, 'x' AS name,"
        " 1 AS width_m, '' AS notes, NULL AS geom FROM n"
    ),
    "another reference system": (
        "UPDATE gpkg_geometry_columns SET srs_id = -1 WHERE table_name = 'zone'"
    ),
    "an absurd version": "UPDATE gpkg_metadata SET metadata = '99999999999999999999'",
}
LOOKED = (("area", "place.gpkg"), ("due", "place.gpkg", "--as-of", "2026-09-24"))


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_place(tmp_path_factory.mktemp("corpus"))


def trial_of(file: Path, folder: Path) -> Trial:
    """Return the trial of a file of the corpus."""
    kind = file.name.partition("-")[0]
    arguments = tuple(file.name if part == "?" else part for part in READ_BY[kind])
    (folder / "trucks.csv").write_bytes(TRUCKS)
    (folder / "business.toml").write_bytes(BUSINESS)
    beside = {"trucks.csv": str(folder / "trucks.csv")}
    name = file.name
    if kind == "template":
        beside = {"style/business.toml": str(folder / "business.toml")}
        name = "style/before.md" if "holds-itself" in name else "style/questions.md"
        if "holds-itself" in file.name:
            beside["style/questions.md"] = str(file)
    return Trial(file.name, arguments, {**beside, name: str(file)})


def test_what_once_broke_something_gets_a_sentence(place: Path, tmp_path: Path) -> None:
    outcomes = tried(
        [trial_of(file, tmp_path) for file in sorted(CORPUS.iterdir())], place, tmp_path
    )
    _, bad = report(outcomes)
    assert not bad, "\n".join(bad)
    # Figures that are no numbers are left out of a forecast, and told.
    assert [one.name for one in outcomes if one.status != 2] == ["forecast-nan.csv"]
    for one in outcomes:
        assert SAYS.get(one.name, "") in one.said


def test_a_place_that_another_program_wrote_is_read_or_refused(place: Path, tmp_path: Path) -> None:
    trials = []
    for name, statements in WRITTEN.items():
        spoilt = tmp_path / f"{name}.gpkg".replace(" ", "-")
        spoilt.write_bytes(place.read_bytes())
        with sqlite3.connect(spoilt) as connection:
            for (trigger,) in connection.execute(
                "SELECT name FROM sqlite_master WHERE type = 'trigger'"
            ).fetchall():
                connection.execute(f'DROP TRIGGER "{trigger}"')
            connection.executescript(statements)
        connection.close()
        trials += [
            Trial(f"{name}: {looked[0]}", looked, {"place.gpkg": str(spoilt)}) for looked in LOOKED
        ]
    _, bad = report(tried(trials, place, tmp_path))
    assert not bad, "\n".join(bad)


def test_the_real_command_stands_it_too(place: Path, tmp_path: Path) -> None:
    """The runner's forks stand beside one start of the command as a user starts it."""
    (tmp_path / "place.gpkg").write_bytes(place.read_bytes())
    (tmp_path / "bad.geojson").write_text('{"type": "Feature", "geometry": ' + "[" * 100_000)
    command = [sys.executable, "-m", "turfmap", "import", "place.gpkg", "bad.geojson"]
    done = subprocess.run(
        [*command, "--as", "zone"],
        cwd=tmp_path,
        env={"PYTHONPATH": str(ROOT), "PATH": ""},
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert "nested deeper" in done.stderr
    assert (tmp_path / "place.gpkg").read_bytes() == place.read_bytes()
