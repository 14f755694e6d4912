"""The help of every command: what it says is there, and every example of it runs as it stands.

Examples are what people copy, so they run here word for word, read by the rules of a shell
(POSIX.1, "Shell Command Language", as `shlex` has them), in a folder that ``turfmap demo`` made.
"""

import json
import re
import shlex
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import click
import pytest

from tests.doors.example_files import ROOT, write_files
from turfmap.desk.demo import demo
from turfmap.doors.cli.main import COMMANDS, EPILOG, main, turfmap

Run = Callable[..., str]
# The record that the example of a correction names stands for the one made before it.
SOME_RECORD = "3fa9c1d2e07b"
# These stay until they are told to stop.
SERVE = {"serve", "draw"}
STOPPED = 130


def help_of(*words: str) -> str:
    context = click.Context(turfmap, info_name="turfmap", terminal_width=100)
    command: click.Command = turfmap
    for word in words:
        assert isinstance(command, click.Group)
        found = command.get_command(context, word)
        assert found is not None
        command = found
        context = click.Context(command, info_name=word, parent=context)
    return command.get_help(context)


@cache
def every_command() -> list[tuple[str, ...]]:
    found: list[tuple[str, ...]] = []
    for name in COMMANDS:
        command = turfmap.get_command(click.Context(turfmap), name)
        parts = command.commands if isinstance(command, click.Group) else {}
        found += [(name,), *((name, part) for part in parts)]
    return found


def examples(text: str) -> list[list[str]]:
    """Return the words of each example; a line that goes on must end in a backslash."""
    block = re.search(r"\n +Examples?:\n(.*?)(\n\n|$)", text, re.S)
    lines = re.sub(r"\\\n\s*", " ", block[1] if block else "").splitlines()
    return [shlex.split(line.partition(" > ")[0]) for line in lines]


@pytest.mark.parametrize("words", [(), *every_command()], ids=" ".join)
def test_every_help_has_its_parts(words: tuple[str, ...]) -> None:
    text = help_of(*words)
    found = examples(text)
    assert found
    assert all(one[0] == "turfmap" for one in found), found
    assert " ".join(EPILOG.split()) in " ".join(text.split())
    if len(words) == 1:
        assert re.search(r"\b(Reads|Writes) ", text)


def test_a_line_that_goes_on_without_a_backslash_is_an_example_of_its_own() -> None:
    text = (
        "\n  Examples:\n    turfmap area x \\\n      --json\n    turfmap new y\n      --json\n\nO"
    )
    assert examples(text) == [
        ["turfmap", "area", "x", "--json"],
        ["turfmap", "new", "y"],
        ["--json"],
    ]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("examples") / "turfmap-demo"
    demo(folder)
    write_files(folder)
    return folder


@pytest.fixture
def folder(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    shutil.copytree(made, tmp_path / "here")
    monkeypatch.chdir(tmp_path / "here")
    yield tmp_path / "here"
    shutil.rmtree(tmp_path / "here")


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    def ran(*arguments: str) -> str:
        monkeypatch.setattr(sys, "argv", ["turfmap", *arguments])
        with pytest.raises(SystemExit) as ended:
            main()
        said = capsys.readouterr()
        assert not ended.value.code, f"{shlex.join(arguments)}\n{said.out}{said.err}"
        return said.out

    return ran


@pytest.mark.parametrize("words", [(), *every_command()], ids=" ".join)
def test_every_example_runs(words: tuple[str, ...], folder: Path, run: Run) -> None:
    for example in examples(help_of(*words)):
        arguments = example[1:]
        if SOME_RECORD in arguments:
            listed = json.loads(run("record", "demo.gpkg", "--list", "--json"))
            (mine,) = (one for one in listed["records"] if one["product"] == "Broadleaf three-way")
            arguments[arguments.index(SOME_RECORD)] = mine["record"]
        if arguments[0] in SERVE:
            served(arguments, folder)
        else:
            run(*arguments)
        if "--out" in arguments:
            assert (folder / arguments[arguments.index("--out") + 1]).exists()


def served(arguments: list[str], folder: Path) -> None:
    """Start what serves, wait for its address, and stop it as Ctrl C does."""
    command = [sys.executable, "-m", "turfmap", *arguments, "--no-browser"]
    process = subprocess.Popen(
        command,
        cwd=folder,
        env={"PYTHONPATH": str(ROOT), "PATH": ""},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    assert process.stdout is not None
    with process.stdout:
        said = []
        for line in process.stdout:
            said.append(line)
            if "#key=" in line:
                break
        else:
            raise AssertionError("".join(said))
        process.send_signal(signal.SIGINT)
        process.stdout.read()
    assert process.wait(timeout=30) in {0, STOPPED}
