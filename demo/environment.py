"""A ready `.venv` for the two commands: made once, filled once, reused while nothing changed.

Only the standard library, and no word of syntax that Python 3.8 cannot read: an older Python must
live long enough to say which one is needed.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import tempfile
import time
from importlib.util import find_spec
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
VENV = ROOT / ".venv"
OLDEST = (3, 11)
SECONDS_BETWEEN_SIGNS = 15.0


def ready(extra: str, *, alone: tuple[str, ...] = ()) -> Path:
    """Return the Python of `.venv`, with turfmap and one of its extras installed.

    Parameters
    ----------
    extra
        The extra of pyproject.toml to install: "demo" or "test".
    alone
        Packages to install besides, without what they depend on.

    Raises
    ------
    SystemExit
        With one sentence on what to do, if this Python is too old or pip fails.
    """
    refuse_old_python(sys.version_info[:2])
    python = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    # Making it again over a half-made one, or over one of the user's own, keeps what is there.
    whole = VENV / "turfmap-venv.stamp"
    if not (python.exists() and whole.exists()):
        make()
        whole.touch()
    stamp = VENV / f"turfmap-{extra}.stamp"
    wanted = fingerprint(ROOT, (sys.version, str(python), *alone))
    if not stamp.exists() or stamp.read_text(encoding="utf-8") != wanted:
        _install(python, extra, alone)
        stamp.write_text(wanted, encoding="utf-8")
    return python


def refuse_old_python(version: tuple[int, ...]) -> None:
    """Stop with a sentence if the Python is older than turfmap needs."""
    if version < OLDEST:
        needed, found = (".".join(map(str, numbers)) for numbers in (OLDEST, version))
        sys.exit(
            f"turfmap needs Python {needed} or newer, and this is Python {found}. "
            "Install a newer Python and start this command with it."
        )


def fingerprint(root: Path, circumstances: tuple[str, ...]) -> str:
    """Return what an installation depends on, as text that changes when it has to be redone."""
    parts = [(root / "pyproject.toml").read_bytes(), str(root).encode()]
    parts += [circumstance.encode() for circumstance in circumstances]
    return hashlib.sha256(b"\0".join(parts)).hexdigest()


def make() -> None:
    """Make `.venv`, or stop with a sentence on what to install first."""
    if any(find_spec(name) is None for name in ("venv", "ensurepip")):
        sys.exit(
            "This Python cannot make a virtual environment: install its venv module "
            "(on Debian and Ubuntu: apt install python3-venv) and run this command again."
        )
    run_quietly([sys.executable, "-m", "venv", str(VENV)], "Making .venv")


def _install(python: Path, extra: str, alone: tuple[str, ...]) -> None:
    pip = [str(python), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    run_quietly([*pip, "--editable", f"{ROOT}[{extra}]"], f"Installing turfmap[{extra}] into .venv")
    if alone:
        run_quietly([*pip, "--no-deps", *alone], f"Installing {', '.join(alone)}")


def run_quietly(command: list[str], title: str) -> None:
    """Run a command, showing its title and a sign of life; show its output only if it fails.

    Raises
    ------
    SystemExit
        If the command fails.
    """
    started = time.monotonic()
    print(f"{title} ...", flush=True)
    with tempfile.TemporaryFile() as output:
        running = subprocess.Popen(command, stdout=output, stderr=subprocess.STDOUT)
        while running.poll() is None:
            try:
                running.wait(SECONDS_BETWEEN_SIGNS)
            except subprocess.TimeoutExpired:
                print(f"  still working, {time.monotonic() - started:.0f} s", flush=True)
        if running.returncode:
            output.seek(0)
            print(output.read().decode("utf-8", "replace"), file=sys.stderr)
            sys.exit(f"{title} failed; the lines above say why. Mend that and run this again.")
    print(f"  done in {time.monotonic() - started:.0f} s", flush=True)
