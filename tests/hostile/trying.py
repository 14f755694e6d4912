"""Tries inputs on the real commands, each in a process of its own that is held to bounds."""

import json
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path

ROOT = Path(__file__).parents[2]
SECONDS, MEGABYTES = 20.0, 1_200
# A sentence names at most one value of the file, cut short.
LONGEST_SENTENCE = 1_500
MOST_SENTENCES = 10_000


@dataclass(frozen=True)
class Trial:
    """One input of one command.

    Attributes
    ----------
    name
        What is tried, for a person.
    arguments
        Of ``turfmap``; ``place.gpkg`` and the files lie in the working folder.
    files
        Name and where the bytes lie. A file called ``place.gpkg`` takes the place's place.
    seconds
        How long it may take.
    """

    name: str
    arguments: tuple[str, ...]
    files: dict[str, str]
    seconds: float = SECONDS


@dataclass(frozen=True)
class Outcome:
    """What came of a trial."""

    name: str
    status: int | None  # None: it was stopped, for it took too long
    said: str  # on standard error
    printed: str
    seconds: float
    megabytes: float
    place_changed: bool
    new_files: list[str] = field(default_factory=list)
    left_behind: list[str] = field(default_factory=list)  # in the folder for temporary files


def tried(
    trials: Sequence[Trial], place: Path, folder: Path, *, out: Sequence[str] = ()
) -> list[Outcome]:
    """Try inputs one after the other.

    Parameters
    ----------
    place
        A good place; each trial has a copy of it.
    folder
        Where to work.
    out
        Files that a command may leave behind when it says that it is done.
    """
    asked = folder / "trials.json"
    asked.write_text(json.dumps([asdict(trial) for trial in trials]), encoding="utf-8")
    command = [sys.executable, "-m", "tests.hostile.forking", str(asked), str(place), *out]
    done = subprocess.run(
        command, cwd=ROOT, capture_output=True, timeout=30 + 60 * len(trials), check=False
    )
    lines = done.stdout.decode("utf-8").splitlines()
    if done.returncode or len(lines) != len(trials):
        raise AssertionError(f"the runner stopped: {done.stderr.decode()[-3000:]}")
    return [Outcome(**json.loads(line)) for line in lines]


def complaints(outcome: Outcome) -> list[str]:
    """Return what is wrong with an outcome: nothing, if the program stood it."""
    found = []
    if outcome.status is None:
        found.append(f"it took longer than {outcome.seconds:.0f} s")
    elif outcome.status not in {0, 2}:
        found.append(f"it ended with {outcome.status}")
    if outcome.megabytes > MEGABYTES:
        found.append(f"it took {outcome.megabytes:,.0f} MB")
    if "Traceback (most" in outcome.said + outcome.printed:
        found.append("it shows a traceback")
    if "turfmap itself failed" in outcome.said:
        found.append("it says that it failed itself")
    if outcome.status == 2:
        found += _of_a_refusal(outcome)
    if outcome.left_behind and outcome.status is not None:
        found.append("it leaves temporary files behind")
    if any(_is_raw(letter) for letter in outcome.said + outcome.printed):
        found.append("a control character reaches the terminal")
    return found


def _of_a_refusal(outcome: Outcome) -> list[str]:
    lines = outcome.said.splitlines()
    found = []
    if not lines:
        found.append("it refuses without a word")
    if len(lines) > MOST_SENTENCES:
        found.append(f"it says {len(lines):,} sentences")
    if any(len(line) > LONGEST_SENTENCE for line in lines):
        found.append("a sentence is too long")
    # click shows usage, a hint and an error; ours are sentences.
    if not all(line.endswith(".") for line in lines if line) and "Usage:" not in outcome.said:
        found.append("what it says is no sentence")
    if outcome.place_changed:
        found.append("it refuses, and the place has changed")
    if outcome.new_files:
        found.append(f"it refuses, and leaves {', '.join(outcome.new_files)[:200]}")
    return found


def _is_raw(letter: str) -> bool:
    """Tell whether a letter steers a terminal, or turns the way that text runs."""
    number = ord(letter)
    steers = (number < 32 and letter not in "\n\t") or 127 <= number < 160
    return steers or letter in "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"


def report(outcomes: Sequence[Outcome]) -> tuple[str, list[str]]:
    """Return the count in one line, and a line for each input that the program did not stand."""
    bad = {one.name: found for one in outcomes if (found := complaints(one))}
    traces = sum("Traceback (most" in one.said or one.status == 1 for one in outcomes)
    over = sum(one.status is None or one.megabytes > MEGABYTES for one in outcomes)
    refused = sum(one.status == 2 for one in outcomes)
    slowest = max(one.seconds for one in outcomes)
    largest = max(one.megabytes for one in outcomes)
    line = (
        f"inputs tried {len(outcomes):,} / tracebacks {traces} / over-limit {over}"
        f" (refused {refused:,}, taken {sum(one.status == 0 for one in outcomes):,},"
        f" slowest {slowest:.1f} s, largest {largest:,.0f} MB)"
    )
    said = {one.name: one.said[-400:] for one in outcomes}
    return line, [f"{name}: {'; '.join(why)}\n  {said[name]}" for name, why in bad.items()]
