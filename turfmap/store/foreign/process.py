"""Starts the worker process, holds it to time and size, and reads its answer."""

import json
import os
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Any

import numpy as np
import shapely

import turfmap
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.store.foreign.limits import (
    MAX_ANSWER_BYTES,
    MAX_LINE_BYTES,
    MEBIBYTE,
    WORKER_S_PER_MEBIBYTE,
    WORKER_START_S,
)

# What a Python started by us needs of its surroundings, and nothing that turns a driver on.
KEPT_VARIABLES = (
    "APPDATA",
    "GDAL_DATA",
    "LD_LIBRARY_PATH",
    "PATH",
    "PROJ_DATA",
    "PROJ_LIB",
    "SYSTEMROOT",
    "TEMP",
    "TMP",
    "TMPDIR",
)
# No file that points at other files, no network, no side files but the ones we copied.
SET_VARIABLES = {
    "CPL_VSIL_CURL_ALLOWED_EXTENSIONS": ".none",
    "CPL_VSIL_CURL_ALLOWED_FILENAME": "none",
    "DXF_FEATURE_LIMIT_PER_BLOCK": "10000",
    "GDAL_HTTP_MAX_RETRY": "0",
    "GDAL_PAM_ENABLED": "NO",
    "GDAL_SKIP": "GPSBabel HTTP WFS OAPIF CSW GeoRSS",
    "OGR_ARC_STEPSIZE": "1",  # degrees: a circle of short lines is 5e-5 of its area too small
    "OGR_SKIP": "OGR_VRT,GDALG",
    "OGR_SQLITE_LOAD_EXTENSIONS": "",
    "OMP_NUM_THREADS": "1",
    "OPENBLAS_NUM_THREADS": "1",  # a thread's stack counts against the memory limit
    "PROJ_NETWORK": "OFF",
    "PYTHONUTF8": "1",
}
BATCH = 1_000
TOLD_CHARACTERS = 300


@dataclass
class Answer:
    """What the worker said of one file; see `records` for the words."""

    crs: str = ""
    stated: str = ""
    may_close: bool = False
    notes: list[str] = field(default_factory=list)
    records: list[str] = field(default_factory=list)
    rows: list[dict[str, Any]] = field(default_factory=list)
    shapes: list[Any] = field(default_factory=list)
    problems: list[tuple[str, str]] = field(default_factory=list)


def worker_answer(
    reader: str,
    path: Path,
    *,
    layer: str | None = None,
    progress: Callable[[int], None] | None = None,
) -> Answer:
    """Have a file parsed in a process of its own and return what it holds.

    Parameters
    ----------
    reader
        Which of the worker's readers is to read it ("geojson").
    path
        Our own copy, alone in its folder.
    layer
        Which layer; None if there is one, or all are meant.
    progress
        Called with the number of records read so far.

    Raises
    ------
    InputFaultsError
        With the worker's faults, or one sentence if it died, overran its time or said too much.
    """
    limit_s = WORKER_START_S + WORKER_S_PER_MEBIBYTE * path.stat().st_size / MEBIBYTE
    arguments = [reader, str(path)] + ([layer] if layer is not None else [])
    with tempfile.TemporaryFile() as complaints:
        process = _started(arguments, path.parent, complaints)
        timer = threading.Timer(limit_s, process.kill)
        timer.start()
        try:
            return _read(_lines(process), progress)
        except _CutShortError:
            timed_out = not timer.is_alive()
            raise _death(process, complaints, limit_s if timed_out else None) from None
        finally:
            timer.cancel()
            process.kill()
            process.communicate()


class _CutShortError(Exception):
    """The answer stopped before its end."""


def _started(arguments: list[str], folder: Path, complaints: IO[bytes]) -> subprocess.Popen[bytes]:
    package = Path(turfmap.__file__).parents[1]
    environment = {name: os.environ[name] for name in KEPT_VARIABLES if name in os.environ}
    environment |= SET_VARIABLES | {"PYTHONPATH": str(package)}
    command = [sys.executable, "-P", "-m", "turfmap.store.foreign.worker", *arguments]
    # A list, no shell; the file's own names are not in it but as the layer's.
    return subprocess.Popen(  # noqa: S603
        command,
        cwd=folder,
        env=environment,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=complaints,
    )


def _lines(process: subprocess.Popen[bytes]) -> Iterator[dict[str, Any]]:
    """Yield the answer's lines, each no longer and all no more than they may be."""
    if process.stdout is None:
        raise AssertionError("the worker was started without a pipe")
    left = MAX_ANSWER_BYTES
    while raw := process.stdout.readline(MAX_LINE_BYTES):
        left -= len(raw)
        if left < 0:
            raise input_fault("it holds more than we can take at once", "give it in parts")
        if not raw.endswith(b"\n"):
            break
        yield json.loads(raw)
    raise _CutShortError


def _read(lines: Iterator[dict[str, Any]], progress: Callable[[int], None] | None) -> Answer:
    answer = Answer()
    waiting: list[str] = []
    next(lines)  # ready
    for line in lines:
        if "faults" in line:
            raise InputFaultsError(_fault(told) for told in line["faults"])
        if "stated" in line:
            answer.crs, answer.stated = line["crs"], line["stated"]
            answer.may_close = line["may_close"]
        elif "record" in line:
            _keep(answer, line, waiting)
            if len(waiting) == BATCH:
                _turn(answer, waiting, progress)
        else:
            answer.notes += line["notes"]
            _turn(answer, waiting, progress)
            return answer
    raise _CutShortError


def _keep(answer: Answer, line: dict[str, Any], waiting: list[str]) -> None:
    answer.records.append(_one_line(line["record"]))
    answer.rows.append(line["row"])
    answer.problems.append((_one_line(line["problem"]), _one_line(line["mend"])))
    waiting.append(line["wkb"])


def _turn(answer: Answer, waiting: list[str], progress: Callable[[int], None] | None) -> None:
    """Turn a batch of WKB into shapes, so that the whole file is never held twice."""
    with np.errstate(invalid="ignore"):  # coordinates that are no numbers are found later
        answer.shapes.extend(shapely.from_wkb([text or None for text in waiting]))
    waiting.clear()
    if progress is not None:
        progress(len(answer.records))


def _fault(told: dict[str, str]) -> Fault:
    return Fault("", _one_line(told["record"]), _one_line(told["problem"]), _one_line(told["mend"]))


def _one_line(text: str) -> str:
    """Return text from a file as one short line without control characters."""
    line = "".join(letter if letter.isprintable() else " " for letter in text)
    return line if len(line) <= TOLD_CHARACTERS else line[: TOLD_CHARACTERS - 1] + "…"


def _death(
    process: subprocess.Popen[bytes], complaints: IO[bytes], limit_s: float | None
) -> Exception:
    if limit_s is not None:
        problem = f"reading it took longer than {limit_s:.0f} s"
        return input_fault(problem, "simplify it or give it in parts")
    status = _status(process)
    complaints.seek(0)
    if b"ModuleNotFoundError" in (said := complaints.read(MEBIBYTE)):
        return RuntimeError(said.decode(errors="replace"))
    return input_fault(
        f"the reader of its format broke down on it (status {status})",
        "it is damaged or hostile; export it again",
    )


def _status(process: subprocess.Popen[bytes]) -> int:
    """Return its exit status, ending it if it still waits to say more than we listen to."""
    try:
        return process.wait(timeout=1)
    except subprocess.TimeoutExpired:
        process.kill()
        return process.wait()
