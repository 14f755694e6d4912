"""Run the tests with the lowest version of every library that pyproject.toml allows.

``python tests/house/lowest_versions.py``: makes an empty environment, installs every minimum of the
dependencies and extras, runs the tests there, and when they hold writes ``lowest_versions.txt``
beside this file. Takes some ten minutes; not part of ``tests/run.py``.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
import tomllib
import venv
from pathlib import Path

ROOT = Path(__file__).parents[2]
TESTED = Path(__file__).with_name("lowest_versions.txt")
# What is published, the browser and the benchmarks ask nothing of a library that these do not.
FOLDERS = (
    "foundations",
    "ground",
    "season",
    "store",
    "days",
    "views",
    "desk",
    "doors",
)
# The GeoPackage validator, without what it depends on; see tests/run.py.
ALONE = ("gdal-utils>=3.9",)
HEADING = (
    "# Every minimum of pyproject.toml; tests/house/lowest_versions.py has run the tests with it."
)
# Name, extras or none, the minimum, and perhaps a limit above.
_REQUIREMENT = re.compile(r"(?P<name>[\w-]+)(\[.*\])?(>=(?P<lowest>[\w.]+)(,<[\w.]+)?)?")


def minimums(pyproject: Path) -> dict[str, str]:
    """Return the lowest version of each library, by name, from dependencies and extras.

    Raises
    ------
    ValueError
        If one names no minimum, or two name different ones.
    """
    project = tomllib.loads(pyproject.read_text("utf-8"))["project"]
    texts = list(project["dependencies"])
    texts += [text for extra in project["optional-dependencies"].values() for text in extra]
    found: dict[str, str] = {}
    for text in texts:
        parts = _REQUIREMENT.fullmatch(text)
        if parts is None or (parts["lowest"] is None and parts["name"] != project["name"]):
            raise ValueError(f"{text!r} names no lowest version")
        if parts["name"] == project["name"]:  # an extra made of other extras
            continue
        if found.setdefault(parts["name"], parts["lowest"]) != parts["lowest"]:
            raise ValueError(f"{parts['name']} has two lowest versions")
    return dict(sorted(found.items()))


def lines(lowest: dict[str, str]) -> str:
    """Return the list as pip reads it, one library a line."""
    return "".join(f"{line}\n" for line in [HEADING, *(f"{k}=={v}" for k, v in lowest.items())])


def main(pytest_arguments: list[str]) -> int:
    """Install the minimums, run the tests, and keep the list if they hold."""
    asked = lines(minimums(ROOT / "pyproject.toml"))
    with tempfile.TemporaryDirectory() as folder:
        wanted = Path(folder) / "lowest_versions.txt"
        wanted.write_text(asked, encoding="utf-8")
        made = Path(folder) / "environment"
        venv.create(made, with_pip=True)
        python = str(made / ("Scripts/python.exe" if os.name == "nt" else "bin/python"))
        for command in (
            [python, "-m", "pip", "install", "--quiet", "--requirement", str(wanted)],
            [python, "-m", "pip", "check"],
            [python, "-m", "pip", "install", "--quiet", "--no-deps", *ALONE],
            [python, "-m", "pytest", "-p", "no:cacheprovider", *_asked(pytest_arguments)],
        ):
            status = subprocess.run(command, cwd=ROOT, check=False).returncode
            if status:
                return status
    if not pytest_arguments:
        TESTED.write_text(asked, encoding="utf-8", newline="\n")
    return 0


def _asked(pytest_arguments: list[str]) -> list[str]:
    return pytest_arguments or ["-q", *(f"tests/{folder}" for folder in FOLDERS)]


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
