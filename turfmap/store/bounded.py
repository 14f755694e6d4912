"""Processes in which files of strangers are parsed: started plainly, held to time and memory.

`worker` starts one and hands out what it says; `hold_to` and `answer_stream` are what a worker
calls first. A parser that dies, hangs or swells on a hostile file becomes one sentence.
"""

import os
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO

import turfmap
from turfmap.foundations.errors import Fault, input_fault

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
MEBIBYTE = 1024 * 1024
TOLD_CHARACTERS = 300


class CutShortError(Exception):
    """Raised by who listens to a worker: its answer stopped before its end."""


@contextmanager
def worker(
    module: str, arguments: Sequence[str], *, folder: Path, limit_s: float
) -> Iterator[IO[bytes]]:
    """Start a worker and hand out what it says; it is ended with the block.

    Parameters
    ----------
    module
        What is run: ``python -m module arguments``.
    folder
        Its working folder, where the file that it reads lies alone.
    limit_s
        How long it may take [s].

    Raises
    ------
    InputFaultsError
        In place of a `CutShortError` of the block: the worker died, or overran its time.
    """
    with tempfile.TemporaryFile() as complaints:
        process = started(module, list(arguments), folder, complaints)
        timer = threading.Timer(limit_s, process.kill)
        timer.start()
        try:
            if process.stdout is None:
                raise AssertionError("the worker was started without a pipe")
            yield process.stdout
        except CutShortError:
            timed_out = not timer.is_alive()
            raise _death(process, complaints, limit_s if timed_out else None) from None
        finally:
            timer.cancel()
            process.kill()
            process.communicate()


def started(
    module: str, arguments: list[str], folder: Path, complaints: IO[bytes]
) -> subprocess.Popen[bytes]:
    """Start a module of ours as a process of its own."""
    package = Path(turfmap.__file__).parents[1]
    environment = {name: os.environ[name] for name in KEPT_VARIABLES if name in os.environ}
    environment |= SET_VARIABLES | {"PYTHONPATH": str(package)}
    # A list, no shell; the file's own names are not in it but as the layer's.
    return subprocess.Popen(  # noqa: S603
        [sys.executable, "-P", "-m", module, *arguments],
        cwd=folder,
        env=environment,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=complaints,
    )


def hold_to(*, memory_bytes: int, writes_bytes: int) -> None:
    """Ask the system to hold this process to limits, where it can (POSIX)."""
    try:
        import resource  # noqa: PLC0415 - not on Windows
    except ImportError:
        return
    limits = {
        resource.RLIMIT_AS: memory_bytes,
        resource.RLIMIT_FSIZE: writes_bytes,
        resource.RLIMIT_CORE: 0,
    }
    for limit, most in limits.items():
        with suppress(ValueError, OSError):  # a system may know the name and not the limit
            resource.setrlimit(limit, (most, most))


def answer_stream() -> IO[bytes]:
    """Keep standard output for ourselves: a library that prints must not spoil the answer."""
    answer = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    return answer


def told_fault(told: dict[str, str]) -> Fault:
    """Return a fault that a worker told, in short lines without control characters."""
    return Fault("", one_line(told["record"]), one_line(told["problem"]), one_line(told["mend"]))


def one_line(text: str) -> str:
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
