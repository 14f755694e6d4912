"""Asks the process of `stepping` to run commands, whole or stopped dead at some step."""

import json
import os
import subprocess
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
# Imported before anything is run, since every command imports them anew otherwise.
EARLY = (
    "turfmap.desk.days_out",
    "turfmap.desk.spray_days",
    "turfmap.desk.spray_inputs",
    "turfmap.views.pdf",
    "exactextract",
    "pvlib",
    "rasterio",
)


@dataclass(frozen=True)
class Ran:
    """How one command went.

    Attributes
    ----------
    status
        Its exit status; None if it was killed.
    steps
        Kind and path of each change of a file in the watched folder; empty if it was not followed.
    out, err
        What it said.
    seconds
        How long it took.
    """

    status: int | None
    steps: list[list[str]]
    out: str
    err: str
    seconds: float


@dataclass(frozen=True)
class Asking:
    """A running process of `stepping`; `follows` tells whether it can stop at a step."""

    process: "subprocess.Popen[str]"
    follows: bool

    def run(
        self,
        arguments: Sequence[str],
        folder: Path,
        *,
        watched: Path | None = None,
        stop_before: int | None = None,
        stop_after_s: float | None = None,
        copies: Path | None = None,
        follows: bool = False,
        largest_bytes: int | None = None,
        obeys_modes: bool = False,
        puts: Mapping[str, object] | None = None,
    ) -> Ran:
        """Run ``turfmap`` with arguments, in a folder.

        Parameters
        ----------
        watched
            Changes of files in it are the steps; else the folder itself.
        stop_before, stop_after_s
            The step, counted from 0, or the time that it is killed at.
        copies
            Where the watched folder is copied to before each step.
        follows
            Whether steps are counted although nothing stops it.
        largest_bytes
            A file that grows beyond it cannot be written to: the disk is full.
        obeys_modes
            Whether root is bound by permissions as anybody is.
        puts
            Values put into modules before it runs, by their full names.
        """
        asked = {
            "arguments": list(arguments),
            "folder": str(folder),
            "watched": str((watched or folder).resolve()),
            "stop_before": stop_before,
            "stop_after_s": stop_after_s,
            "copies": str(copies) if copies else None,
            "follows": follows or copies is not None or stop_before is not None,
            "largest_bytes": largest_bytes,
            "obeys_modes": obeys_modes,
            "puts": dict(puts or {}),
        }
        return Ran(**self._answer(asked))

    def _answer(self, asked: object) -> dict[str, Any]:
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        self.process.stdin.write(json.dumps(asked) + "\n")
        self.process.stdin.flush()
        answer: dict[str, Any] = json.loads(self.process.stdout.readline())
        return answer


@contextmanager
def asking() -> Iterator[Asking]:
    """Run the process of `stepping` for as long as the block."""
    command = [sys.executable, "-m", "tests.faults.stepping", *EARLY]
    # Threads of a library would not be there after a fork.
    surroundings = dict(os.environ, OPENBLAS_NUM_THREADS="1", OMP_NUM_THREADS="1")
    with subprocess.Popen(
        command,
        cwd=ROOT,
        env=surroundings,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as process:
        assert process.stdout is not None
        ready = json.loads(process.stdout.readline())
        yield Asking(process, ready["follows"])
        assert process.stdin is not None
        process.stdin.close()
