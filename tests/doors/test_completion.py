"""Completion: driven by the shells themselves, and harmless whatever a place holds.

How a shell quotes is the outside check: what bash is offered is read back by bash (its manual,
"Quoting"), and must be the name again.
"""

import hashlib
import os
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from click.shell_completion import BashComplete

from turfmap.desk.new import new
from turfmap.doors.cli.completion import PROGRAM, VARIABLE
from turfmap.doors.cli.main import turfmap
from turfmap.store.geometry_blob import register_functions

ROOT = Path(__file__).parents[2]
PLAIN = ("Pine Row", "Pine Hill, north", "O'Dell & Daughters", "Piñon")
# Each of them means more than a name to a shell.
HOSTILE = (
    "Pi$(touch pwned)",
    "Pi`touch pwned`",
    "Pi; touch pwned",
    'Pi"x',
    "Pi*",
    "Pi\ttab",
    "Pi!!",
)
PROGRAM_TEXT = f"""#!{sys.executable}
import sys
sys.path.insert(0, {str(ROOT)!r})
sys.argv[0] = "turfmap"
from turfmap.doors.cli.main import main
main()
"""
# Prints, for each completion of the last word, what bash makes of it when it is run.
BASH = """source "$1"; shift
COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1))
_turfmap_completion turfmap 2>/dev/null
for offered in "${COMPREPLY[@]}"; do
    case "${COMP_WORDS[COMP_CWORD]}" in
        \\"*) eval "printf '%s\\n' \\"$offered\\"" ;;
        \\'*) eval "printf '%s\\n' '$offered'" ;;
        *) eval "printf '%s\\n' $offered" ;;
    esac
done
"""


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("completion") / "place.gpkg"
    new(path)
    with closing(sqlite3.connect(path)) as connection, connection:
        register_functions(connection)  # the R-tree's triggers ask for them
        for name in (*PLAIN, *HOSTILE):
            connection.execute("INSERT INTO property (name) VALUES (?)", (name,))
        # A desktop GIS may leave anything in a column of text.
        connection.execute("INSERT INTO property (name) VALUES (x'5069')")
        connection.execute("INSERT INTO product (name) VALUES ('prodigal mix')")
    return path


def offers(*words: str) -> list[str]:
    """Return what is offered for the last word."""
    complete = BashComplete(turfmap, {}, PROGRAM, VARIABLE)
    return [item.value for item in complete.get_completions(list(words[:-1]), words[-1])]


def test_names_of_the_place_are_offered_and_nothing_that_a_shell_would_run(place: Path) -> None:
    assert set(offers("area", str(place), "--property", "")) == set(PLAIN)
    assert offers("area", str(place), "--property", "Pine R") == ["Pine Row"]
    # Both the product of the place and the ingredient.
    assert offers("check", str(place), "--product", "prod") == ["prodigal mix", "prodiamine"]


def test_names_of_what_turfmap_knows_are_offered() -> None:
    assert offers("layers", "setb") == ["setback"]
    assert offers("import", "x.gpkg", "lot.kml", "--as", "prop") == ["property"]
    assert offers("record", "x.gpkg", "--task", "soil") == ["soil_test"]
    assert offers("dem") == ["demo"]


@pytest.mark.parametrize("content", [None, b"", b"no place", b"SQLite format 3\0" + bytes(500)])
def test_what_is_no_place_offers_nothing(tmp_path: Path, content: bytes | None) -> None:
    path = tmp_path / "odd.gpkg"
    if content is not None:
        path.write_bytes(content)
    assert offers("area", str(path), "--property", "") == []
    assert offers("area", "--property", "") == []
    assert [one.name for one in tmp_path.iterdir()] == ([] if content is None else ["odd.gpkg"])


def test_an_older_place_that_somebody_writes_to_is_read_and_left_as_it_is(place: Path) -> None:
    with closing(sqlite3.connect(place)) as connection, connection:
        connection.execute("ALTER TABLE product DROP COLUMN formulation")  # as before it was there
    before = hashlib.sha256(place.read_bytes()).digest()
    with closing(sqlite3.connect(place, isolation_level=None)) as writer:
        writer.execute("BEGIN EXCLUSIVE")
        assert "Pine Row" in offers("area", str(place), "--property", "Pine")
        writer.execute("ROLLBACK")
    assert hashlib.sha256(place.read_bytes()).digest() == before
    assert [path.name for path in place.parent.iterdir()] == [place.name]


@pytest.fixture(scope="module")
def surroundings(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Return an environment in which the command ``turfmap`` is this checkout."""
    folder = tmp_path_factory.mktemp("bin")
    program = folder / "turfmap"
    program.write_text(PROGRAM_TEXT, encoding="utf-8")
    program.chmod(0o755)
    return dict(os.environ, PATH=f"{folder}{os.pathsep}{os.environ['PATH']}", HOME=str(folder))


def script(shell: str, surroundings: dict[str, str], into: Path) -> Path:
    made = subprocess.run(
        ["turfmap", "completion", shell], env=surroundings, capture_output=True, check=True
    )
    path = into / f"completion.{shell}"
    path.write_bytes(made.stdout)
    return path


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("Pin", ["Pine Hill, north", "Pine Row"]),
        ('"Pine R', ["Pine Row"]),
        ("'", ["Pine Hill, north", "Pine Row", "Piñon"]),  # its quote would end at O'Dell's
        ("O", ["O'Dell & Daughters"]),
    ],
)
def test_bash_reads_what_it_is_offered_as_the_name(
    place: Path, surroundings: dict[str, str], tmp_path: Path, typed: str, expected: list[str]
) -> None:
    path = script("bash", surroundings, tmp_path)
    words = ["turfmap", "area", str(place), "--property", typed]
    done = subprocess.run(
        ["bash", "--norc", "-c", BASH, "bash", str(path), *words],
        cwd=tmp_path,
        env=surroundings,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.splitlines() == expected
    assert [one.name for one in tmp_path.iterdir()] == [path.name]


@pytest.mark.parametrize("shell", [name for name in ("fish", "zsh") if shutil.which(name)] or [""])
def test_other_shells_take_their_script(
    place: Path, surroundings: dict[str, str], tmp_path: Path, shell: str
) -> None:
    if not shell:  # neither is on this machine
        return
    path = script(shell, surroundings, tmp_path)
    ask = f'source {path}; complete -C "turfmap area {place} --property Pine"'
    code = {"fish": ask, "zsh": f"compdef() {{ print $2; }}; source {path}"}[shell]
    done = subprocess.run(
        [shell, "-c", code], env=surroundings, capture_output=True, text=True, check=True
    )
    told = {"fish": ["Pine Hill, north", "Pine Row"], "zsh": ["turfmap"]}[shell]
    assert done.stdout.splitlines() == told
