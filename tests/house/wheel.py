"""Use the wheel as a stranger does: ``python3 tests/house/wheel.py``.

Builds the source distribution, from it the wheel, and with every Python from 3.11 on that is found
on this machine installs the wheel into an empty environment and works with it outside the checkout:
first without extras, then with them.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
# The minor versions of Python 3 that are looked for.
MINORS = range(11, 21)
EXTRAS = "days,pdf,picture,weather"
# What an environment can be made with; Debian's python3 may lack the second.
ASK = "import ensurepip, sys, venv; print(*sys.version_info[:2])"
BARE = (
    ("--version",),
    ("demo", "--into", "out"),
    ("area", "out/demo.gpkg", "--property", "Larkspur Hollow"),
    ("due", "out/demo.gpkg", "--as-of", "2026-09-24"),
    ("map", "out/demo.gpkg", "--as-of", "2026-09-24", "--out", "map.html"),
    ("completion", "bash"),
)
_LENGTH = ("--from", "2026-09-14", "--for", "2d")
DAYS = ("days", "out/demo.gpkg", *_LENGTH, "--trucks", "out/trucks.csv")
SHEET = ("sheet", "out/demo.gpkg", "--property", "Larkspur Hollow", "--on", "2026-09-25T08:00")
FULL = (
    (*DAYS, "--out", "week"),
    (*SHEET, "--product", "Broadleaf three-way", "--out", "sheet.pdf"),
)
# What needs an extra that is not there: one sentence that names it.
REFUSED = ((DAYS, "turfmap[days]"), (FULL[1], "turfmap[pdf]"))


def main() -> int:
    """Try the wheel with every Python found; return the exit status."""
    found = pythons()
    print("Pythons:", ", ".join(f"3.{minor} ({path})" for minor, path in found.items()), flush=True)
    return 0 if works(sys.executable, list(found.values()), extras=True) else 1


def pythons() -> dict[int, str]:
    """Return a Python of each minor version that is on this machine and can make environments."""
    kept = Path(os.environ.get("PYENV_ROOT", Path.home() / ".pyenv")) / "versions"
    found: dict[int, str] = {}
    for minor in MINORS:
        name = f"python3.{minor}"
        places = [str(path) for path in sorted(kept.glob(f"3.{minor}.*/bin/{name}"))]
        # What stands on the path may be a stand-in that starts nothing.
        for place in (shutil.which(name), *places):
            if place and minor not in found and _output([place, "-c", ASK]) == f"3 {minor}\n":
                found[minor] = place
    return found


def works(builder: str, interpreters: list[str], *, extras: bool) -> bool:
    """Build the wheel and use it with some Pythons, each in an empty environment.

    Parameters
    ----------
    builder
        A Python that has the package `build`; where it has none, an environment gets it.
    interpreters
        Pythons to make the environments with.
    extras
        Whether to work with the extras as well.
    """
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        if not _runs([builder, "-c", "import build"], folder, quiet=True):
            builder = _environment(builder, folder / "builder")
            if not _runs([builder, *_PIP, "build"], folder):
                return False
        if not _runs([builder, "-m", "build", "--outdir", str(folder), str(ROOT)], folder):
            return False
        (wheel,) = folder.glob("*.whl")
        tried = [_used(wheel, python, folder, extras=extras) for python in interpreters]
        return all(tried)


_PIP = ("-m", "pip", "install", "--quiet", "--disable-pip-version-check")


def _used(wheel: Path, python: str, folder: Path, *, extras: bool) -> bool:
    started = time.monotonic()
    version = (_output([python, "-c", ASK]) or "").strip().replace(" ", ".")
    here = folder / version
    here.mkdir()
    ours = _environment(python, here / "environment")
    turfmap = str(Path(ours).with_name("turfmap.exe" if os.name == "nt" else "turfmap"))
    holds = _runs([ours, *_PIP, str(wheel)], here) and _runs([ours, "-m", "pip", "check"], here)
    holds = holds and all(_runs([turfmap, *step], here) for step in BARE)
    holds = holds and all(_refused([turfmap, *step], words, here) for step, words in REFUSED)
    if extras:
        holds = holds and _runs([ours, *_PIP, f"{wheel}[{EXTRAS}]"], here)
        holds = holds and _runs([ours, "-m", "pip", "check"], here)
        holds = holds and all(_runs([turfmap, *step], here) for step in FULL)
    verdict = "holds" if holds else "does not hold"
    print(f"Python {version}: {verdict}, {time.monotonic() - started:.0f} s", flush=True)
    return holds


def _environment(python: str, folder: Path) -> str:
    subprocess.run([python, "-m", "venv", str(folder)], check=True)
    return str(folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python"))


def _refused(command: list[str], words: str, folder: Path) -> bool:
    done = subprocess.run(command, cwd=folder, env=_clean(), capture_output=True, check=False)
    told = done.stderr.decode("utf-8", "replace")
    holds = done.returncode == 2 and words in told
    if not holds:
        print(f"{command[1:]}: exit status {done.returncode}, and {told!r}", file=sys.stderr)
    return holds


def _runs(command: list[str], folder: Path, *, quiet: bool = False) -> bool:
    done = subprocess.run(
        command,
        cwd=folder,
        env=_clean(),
        check=False,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
    )
    if done.returncode and not quiet:
        print(command, done.stdout.decode("utf-8", "replace"), sep="\n", file=sys.stderr)
    return done.returncode == 0


def _clean() -> dict[str, str]:
    """Return the surroundings without what could lead into the checkout."""
    return {name: text for name, text in os.environ.items() if name != "PYTHONPATH"}


def _output(command: list[str]) -> str | None:
    try:
        done = subprocess.run(command, capture_output=True, check=False, timeout=60)
    except (OSError, subprocess.TimeoutExpired):
        return None
    return done.stdout.decode("utf-8", "replace") if done.returncode == 0 else None


if __name__ == "__main__":
    sys.exit(main())
