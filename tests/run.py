"""Check everything: ``python3 tests/run.py``.

Makes `.venv` with the test extra, then runs the linter, the type checker, the tests, and a wheel
built and used from outside the checkout. Arguments go to pytest, which then runs alone:
``python3 tests/run.py -k area``.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from demo.environment import ROOT, ready

NO_BROWSER = (
    "The browser tests need Chromium or Chrome: install one (on Debian: apt install chromium), "
    "or run {python} -m playwright install chromium, then run this command again."
)
COMMAND_NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
USUAL_PLACES = (
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "%ProgramFiles%/Google/Chrome/Application/chrome.exe",
    "%ProgramFiles(x86)%/Google/Chrome/Application/chrome.exe",
    "%LocalAppData%/Google/Chrome/Application/chrome.exe",
    "%LocalAppData%/Chromium/Application/chrome.exe",
)
# The GeoPackage validator; what it depends on needs a compiler, and the validator does not need it.
ALONE = ("gdal-utils>=3.9",)
# Playwright's own browser, if it was installed; prints a path.
ASK_PLAYWRIGHT = (
    "from playwright.sync_api import sync_playwright\n"
    "with sync_playwright() as p: print(p.chromium.executable_path)\n"
)
# The wheel must not be shadowed by the editable installation.
IS_FROM = (
    "import pathlib, sys, turfmap\n"
    "sys.exit(not pathlib.Path(turfmap.__file__).is_relative_to(sys.argv[1]))\n"
)


def main(pytest_arguments: list[str]) -> int:
    """Run every check, or pytest alone if it was given arguments; return the exit status."""
    python = str(ready("test", alone=ALONE))
    browser = browser_path(python)
    if browser is None:
        print(NO_BROWSER.format(python=python), file=sys.stderr)
        return 1
    surroundings = dict(os.environ, TURFMAP_BROWSER=browser)
    failed = []
    for title, command in steps(python, pytest_arguments):
        started = time.monotonic()
        print(f"\n== {title}", flush=True)
        status = subprocess.run(command, cwd=ROOT, env=surroundings, check=False).returncode
        print(f"== {title}: {time.monotonic() - started:.0f} s", flush=True)
        if status:
            failed.append(f"{title} (exit status {status})")
    if not pytest_arguments and not wheel_works(python):
        failed.append("wheel")
    verdict = "Only pytest ran, and it holds." if pytest_arguments else "All checks hold."
    print(f"\nFirst failure: {failed[0]}." if failed else f"\n{verdict}", flush=True)
    return 1 if failed else 0


def steps(python: str, pytest_arguments: list[str]) -> list[tuple[str, list[str]]]:
    """Return the title and command of each step that runs in the checkout."""
    tests = ("tests", [python, "-m", "pytest", *pytest_arguments])
    if pytest_arguments:
        return [tests]
    return [
        ("lint", [python, "-m", "ruff", "check"]),
        ("format", [python, "-m", "ruff", "format", "--check"]),
        ("types", [python, "-m", "mypy"]),
        tests,
    ]


def wheel_works(python: str) -> bool:
    """Build the wheel through a source distribution, and use it outside the checkout."""
    started = time.monotonic()
    print("\n== wheel", flush=True)
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        site = folder / "site"
        elsewhere = folder / "elsewhere"
        elsewhere.mkdir()
        works = _runs([python, "-m", "build", "--outdir", str(folder), str(ROOT)], elsewhere)
        wheels = [str(wheel) for wheel in folder.glob("*.whl")]
        pip = [python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
        works = works and _runs([*pip, "--no-deps", "--target", str(site), *wheels], elsewhere)
        is_ours = ["-c", IS_FROM, str(site)]
        for arguments in (is_ours, ["-m", "turfmap", "layers"], _demo(elsewhere)):
            works = works and _runs([python, *arguments], elsewhere, only_from=site)
        works = works and (elsewhere / "out" / "map.html").is_file()
    print(f"== wheel: {time.monotonic() - started:.0f} s", flush=True)
    return works


def _demo(folder: Path) -> list[str]:
    return ["-m", "turfmap", "demo", "--into", str(folder / "out")]


def _runs(command: list[str], folder: Path, *, only_from: Path | None = None) -> bool:
    surroundings = dict(os.environ)
    if only_from is not None:
        surroundings["PYTHONPATH"] = str(only_from)
    done = subprocess.run(
        command,
        cwd=folder,
        env=surroundings,
        check=False,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
    )
    if done.returncode:
        print(done.stdout.decode("utf-8", "replace"), file=sys.stderr)
    return done.returncode == 0


def browser_path(python: str) -> str | None:
    """Return a Chromium or Chrome to test with, or None if there is none to be found."""
    places = [os.environ.get("TURFMAP_BROWSER")]
    places += [shutil.which(name) for name in COMMAND_NAMES]
    places += [os.path.expandvars(place) for place in USUAL_PLACES]
    found = next((place for place in places if place and Path(place).is_file()), None)
    if found:
        return found
    asked = subprocess.run(
        [python, "-c", ASK_PLAYWRIGHT],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        check=False,
    )
    own = asked.stdout.decode("utf-8", "replace").strip()
    return own if own and Path(own).is_file() else None


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
