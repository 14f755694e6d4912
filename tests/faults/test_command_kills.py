"""Every writing command is killed before any of its writes: all of it is there, or nothing.

The kill is SIGKILL, at a system call that changes a file, so that each try is at another place of
the work. Afterwards the same command, typed again, gives what it would have given at first.
``TURFMAP_LONG=1`` tries every such place up to `MOST` of each command, otherwise a few.
"""

import random
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path
from sqlite3 import connect
from typing import Any

import pytest

from tests.faults.asking import Asking, Ran
from tests.faults.places import content_of, copied, state_of, validated
from tests.faults.tally import IS_LONG, TALLY
from tests.faults.writing import AGAIN, FEWER, LONG, READING, WRITINGS, Writing
from turfmap.doors.cli.main import COMMANDS

MOST = 30 if IS_LONG else 2
NAMES = [name for name in WRITINGS if IS_LONG or name not in LONG]
PLACE = "place.gpkg"
NAMING = {"link", "rename"}


@dataclass(frozen=True)
class Work:
    """A command, the folder before it, and what is there before and after it."""

    writing: Writing
    folder: Path
    whole: Ran
    before: list[Any]
    after: list[Any]


def held(folder: Path, writing: Writing) -> list[Any]:
    return [state_of(folder / PLACE), *(content_of(folder / name) for name in writing.makes)]


def prepared(asked: Asking, made: Path, room: Path, writing: Writing) -> Work:
    """Do what comes before a command, and then the command itself, in copies of the folder."""
    folder = copied(made, room / "before")
    with closing(connect(folder / PLACE)) as connection:
        (name,) = connection.execute("SELECT coalesce(record, id) FROM visit").fetchone()
    arguments = tuple(name if one == "RECORD" else one for one in writing.arguments)
    writing = replace(writing, arguments=arguments)
    for earlier in writing.before:
        done = asked.run(earlier, folder)
        assert done.status == 0, done.err
    whole = copied(folder, room / "whole")
    done = asked.run(arguments, whole, follows=True)
    assert done.status == 0, done.err
    return Work(writing, folder, done, held(folder, writing), held(whole, writing))


def killed(asked: Asking, work: Work, name: str, to: Path) -> Iterator[tuple[int, Path, Ran]]:
    """Yield a folder in which the command was killed, for each of some steps."""
    for step in _steps(work.whole.steps, min(MOST, FEWER.get(name, MOST)), random.Random(name)):  # noqa: S311
        folder = copied(work.folder, to)
        yield step, folder, asked.run(work.writing.arguments, folder, stop_before=step)


def _steps(steps: list[list[str]], most: int, chosen: random.Random) -> list[int]:
    """Choose steps to be killed before: half of them where it is decided."""
    last = len(steps)
    if last <= most:
        return list(range(last))
    # Before and after a new name is given, and at the end, where a commit is.
    names = {n + more for n, step in enumerate(steps) if step[0] in NAMING for more in (0, 1)}
    decisive = sorted((names | {last - 4, last - 3, last - 2, last - 1}) & set(range(last)))
    half = chosen.sample(decisive, min((most + 1) // 2, len(decisive)))
    others = sorted(set(range(last)) - set(half))
    return sorted({*half, *chosen.sample(others, most - len(half))})


def killed_by_time(
    asked: Asking, work: Work, name: str, to: Path
) -> Iterator[tuple[int, Path, Ran]]:
    """Yield the same where no process may follow another: killed after a share of its time."""
    shares = random.Random(name)  # noqa: S311
    for number in range(MOST):
        folder = copied(work.folder, to)
        after_s = shares.uniform(0.3, 1.0) * work.whole.seconds
        yield number, folder, asked.run(work.writing.arguments, folder, stop_after_s=after_s)


def test_no_writing_command_is_left_out() -> None:
    tried = {writing.arguments[0] for writing in WRITINGS.values()}
    assert tried | READING == COMMANDS.keys()
    assert tried & READING == set()


@pytest.mark.parametrize("name", NAMES)
def test_a_killed_command_leaves_all_of_its_work_or_nothing(
    asked: Asking, made_once: Path, tmp_path: Path, name: str
) -> None:
    work = prepared(asked, made_once, tmp_path, WRITINGS[name])
    assert work.before != work.after or name == AGAIN  # otherwise nothing could be lost
    how = killed if asked.follows else killed_by_time
    for step, folder, ran in how(asked, work, name, tmp_path / "killed"):
        with TALLY.fault("commands killed", f"{name}, step {step} of {len(work.whole.steps)}"):
            _check_all_or_nothing(work, folder, ran)
            _check_goes_on(asked, work, folder)
    assert validated(folder / PLACE) == ""


def _check_all_or_nothing(work: Work, folder: Path, ran: Ran) -> None:
    found = held(folder, work.writing)
    for before, there, after in zip(work.before, found, work.after, strict=True):
        if isinstance(there, dict) and isinstance(after, dict) and "week" in work.writing.makes:
            _check_each(before or {}, there, after)
        else:
            assert there in (before, after)
    # What it has said it did is there. (A command that writes into the place says so last.)
    if ran.out and found[0] != work.after[0]:
        raise AssertionError(f"it said {ran.out!r} and had not written it")


def _check_each(before: dict[str, Any], there: dict[str, Any], after: dict[str, Any]) -> None:
    """Check a folder of views: each of them is the old one or the new one."""
    for name, content in there.items():
        if not name.startswith("."):
            assert content in (before.get(name), after[name]), name


def _check_goes_on(asked: Asking, work: Work, folder: Path) -> None:
    """Type it again: the work is done, or it is said that it was done before."""
    was_done = held(folder, work.writing) == work.after
    again = asked.run(work.writing.arguments, folder)
    if was_done and again.status == 2:
        assert work.writing.refuses, again.err
        assert work.writing.refuses in again.err
        assert held(folder, work.writing) == work.after
        return
    assert again.status == 0, again.err
    if not was_done:
        found = [_without_leavings(one) for one in held(folder, work.writing)]
        assert found == work.after


def _without_leavings(content: Any) -> Any:
    """Leave out hidden files that the killed run was making."""
    if isinstance(content, dict) and "" not in content:
        return {name: one for name, one in content.items() if not name.startswith(".")}
    return content
