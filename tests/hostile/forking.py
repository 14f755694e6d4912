"""Runs trials in children of one warm process: ``python -m tests.hostile.forking TRIALS PLACE``.

Starting Python for each of thousands of inputs would take a second each. Here everything is
imported once and each input gets a fork of that: its own memory, bounds and working folder. The
worker that reads foreign files is a fork too, of the same code under the same bounds; a few trials
of the real thing stand beside this in ``test_real_commands``.
"""

import hashlib
import json
import os
import resource
import shutil
import signal
import sys
import tempfile
import time
from contextlib import suppress
from importlib import import_module
from pathlib import Path
from typing import IO, Any, BinaryIO

from turfmap.doors.cli import main as door
from turfmap.store import bounded

# Virtual memory; what really is taken is judged by `trying.MEGABYTES`.
ADDRESS_SPACE_BYTES = 6_000_000_000
MOST_SAID_BYTES = 3_000_000
WARM = (
    *(door.MODULES.get(name, f"turfmap.doors.cli.{name}") for name in door.COMMANDS),
    *("turfmap.desk.spray_days", "turfmap.desk.days_out", "turfmap.days.plan.search"),
    *("fiona", "pyarrow.parquet", "osmium", "rasterio", "pyvrp", "scipy.sparse.csgraph"),
    *("turfmap.store.foreign." + name for name in ("worker", "gdal_files", "geojson_text")),
    *("turfmap.store.foreign." + name for name in ("gpx_text", "kml_text", "parquet_file")),
    *("turfmap.store.foreign.text_tables", "turfmap.store.road_worker", "pvlib.iotools"),
)


class Forked:
    """As much of a started process as the program asks of one, made by a fork."""

    def __init__(self, module: str, arguments: list[str], folder: Path, errors: IO[bytes]) -> None:
        reading, writing = os.pipe()
        self.pid = os.fork()
        if not self.pid:
            os.dup2(writing, 1)
            os.dup2(errors.fileno(), 2)
            os.close(reading)
            os.close(writing)
            os.chdir(folder)
            _leave(lambda: import_module(module).main(arguments))
        os.close(writing)
        self.stdout: BinaryIO = os.fdopen(reading, "rb")
        self.status: int | None = None

    def kill(self) -> None:
        """End it, if it still runs."""
        if self.status is None:
            with suppress(ProcessLookupError):
                os.kill(self.pid, signal.SIGKILL)

    def wait(self, timeout: float | None = None) -> int:
        """Return its status."""
        if self.status is None:
            self.status = os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])
        return self.status

    def communicate(self) -> None:
        """Wait for its end."""
        self.wait()
        self.stdout.close()


def _leave(work: Any) -> None:
    """Do some work and end this process as Python would, without ending what it came from."""
    status = 1
    try:
        work()
        status = 0
    except SystemExit as left:
        status = left.code if isinstance(left.code, int) else 0
    except BaseException:
        import traceback  # noqa: PLC0415

        traceback.print_exc()
    finally:
        with suppress(Exception):
            sys.stdout.flush()
        with suppress(Exception):
            sys.stderr.flush()
        os._exit(status)


def _warm() -> None:
    os.environ |= bounded.SET_VARIABLES
    for name in WARM:
        import_module(name)
    bounded.started = Forked  # type: ignore[assignment]


def _attempt(trial: dict[str, Any], place: Path, out: list[str]) -> dict[str, Any]:
    with tempfile.TemporaryDirectory(prefix="trial-") as name:
        folder, logs = Path(name, "work"), Path(name)
        folder.mkdir()
        (logs / "temporary").mkdir()
        shutil.copy(place, folder / "place.gpkg")
        for file, source in trial["files"].items():
            (folder / file).parent.mkdir(exist_ok=True, parents=True)
            shutil.copy(source, folder / file)
        before = _listed(folder)
        status, seconds, megabytes = _run(trial, folder, logs)
        after = _listed(folder)
        texts = [(logs / one).read_bytes()[:MOST_SAID_BYTES] for one in ("said", "printed")]
        said, printed = (text.decode("utf-8", "backslashreplace") for text in texts)
        new = sorted(set(after) - set(before))
        left = sorted(file.name for file in (logs / "temporary").iterdir())
        if status == 0:
            new = [file for file in new if file.split("/")[0] not in out]
        return {
            "name": trial["name"],
            "status": status,
            "said": said,
            "printed": printed,
            "seconds": seconds,
            "megabytes": megabytes,
            "place_changed": any(before[file] != after.get(file) for file in before),
            "new_files": new,
            "left_behind": left,
        }


def _listed(folder: Path) -> dict[str, str]:
    files = [file for file in folder.rglob("*") if file.is_file()]
    return {
        str(file.relative_to(folder)): hashlib.sha256(file.read_bytes()).hexdigest()
        for file in files
    }


def _run(trial: dict[str, Any], folder: Path, logs: Path) -> tuple[int | None, float, float]:
    pid = os.fork()
    if not pid:
        os.setsid()
        for number, name in ((1, "printed"), (2, "said")):
            os.dup2(os.open(logs / name, os.O_WRONLY | os.O_CREAT), number)
        os.chdir(folder)
        os.environ["TMPDIR"] = tempfile.tempdir = str(logs / "temporary")
        resource.setrlimit(resource.RLIMIT_AS, (ADDRESS_SPACE_BYTES, ADDRESS_SPACE_BYTES))
        sys.argv = ["turfmap", *trial["arguments"]]
        _leave(door.main)
    began = time.monotonic()
    while time.monotonic() - began < trial["seconds"]:
        done, status, usage = os.wait4(pid, os.WNOHANG)
        if done:
            spent = time.monotonic() - began
            return os.waitstatus_to_exitcode(status), spent, usage.ru_maxrss / 1024
        time.sleep(0.004)
    os.killpg(pid, signal.SIGKILL)
    _, _, usage = os.wait4(pid, 0)
    return None, time.monotonic() - began, usage.ru_maxrss / 1024


def run(asked: str, place: str, *out: str) -> None:
    """Run the trials of a file and print one outcome a line."""
    _warm()
    for trial in json.loads(Path(asked).read_text(encoding="utf-8")):
        sys.stdout.write(json.dumps(_attempt(trial, Path(place), list(out))) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    run(*sys.argv[1:])
