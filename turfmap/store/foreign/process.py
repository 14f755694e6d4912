"""Has a foreign file parsed by the worker process, and reads the worker's answer."""

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Any

import numpy as np
import shapely

from turfmap.foundations.errors import InputFaultsError, input_fault
from turfmap.store.bounded import CutShortError, one_line, told_fault, worker
from turfmap.store.foreign.limits import (
    MAX_ANSWER_BYTES,
    MAX_LINE_BYTES,
    MEBIBYTE,
    WORKER_S_PER_MEBIBYTE,
    WORKER_START_S,
)

BATCH = 1_000


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
    module = "turfmap.store.foreign.worker"
    with worker(module, arguments, folder=path.parent, limit_s=limit_s) as said:
        return _read(_lines(said), progress)


def _lines(said: IO[bytes]) -> Iterator[dict[str, Any]]:
    """Yield the answer's lines, each no longer and all no more than they may be."""
    left = MAX_ANSWER_BYTES
    while raw := said.readline(MAX_LINE_BYTES):
        left -= len(raw)
        if left < 0:
            raise input_fault("it holds more than we can take at once", "give it in parts")
        if not raw.endswith(b"\n"):
            break
        yield json.loads(raw)
    raise CutShortError


def _read(lines: Iterator[dict[str, Any]], progress: Callable[[int], None] | None) -> Answer:
    answer = Answer()
    waiting: list[str] = []
    next(lines)  # ready
    for line in lines:
        if "faults" in line:
            raise InputFaultsError(told_fault(told) for told in line["faults"])
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
    raise CutShortError


def _keep(answer: Answer, line: dict[str, Any], waiting: list[str]) -> None:
    answer.records.append(one_line(line["record"]))
    answer.rows.append(line["row"])
    answer.problems.append((one_line(line["problem"]), one_line(line["mend"])))
    waiting.append(line["wkb"])


def _turn(answer: Answer, waiting: list[str], progress: Callable[[int], None] | None) -> None:
    """Turn a batch of WKB into shapes, so that the whole file is never held twice."""
    with np.errstate(invalid="ignore"):  # coordinates that are no numbers are found later
        answer.shapes.extend(shapely.from_wkb([text or None for text in waiting]))
    waiting.clear()
    if progress is not None:
        progress(len(answer.records))
