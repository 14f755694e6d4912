"""The house itself: floors, packaging, sizes, and the pages that are made from the data."""

import ast
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from importlinter.cli import lint_imports

from turfmap.desk.layers import layers_page

ROOT = Path(__file__).parents[2]
LONGEST_MODULE = 400
LONGEST_FUNCTION = 60


def modules(folder: str) -> list[Path]:
    return sorted((ROOT / folder).rglob("*.py"))


def test_imports_only_look_down(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    assert lint_imports(config_filename="pyproject.toml", no_cache=True) == 0


def test_every_package_is_in_the_wheel() -> None:
    """An unlisted package imports in an editable install and is missing from the wheel."""
    listed = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["setuptools"]
    folders = {
        ".".join(path.parent.relative_to(ROOT).parts)
        for path in modules("turfmap")
        if path.name == "__init__.py"
    }
    assert set(listed["packages"]) == folders | {"turfmap.layers", "turfmap.demo"}


@pytest.mark.parametrize("folder", ["layers", "demo/scenario"])
def test_data_folders_hold_no_code(folder: str) -> None:
    """Import contracts and the type checker do not see them, so nothing may hide there."""
    (only,) = modules(folder)
    assert only.name == "__init__.py"
    (docstring,) = ast.parse(only.read_text("utf-8")).body
    assert isinstance(docstring, ast.Expr)


def test_only_one_module_reads_the_layers() -> None:
    readers = [
        path.name for path in modules("turfmap") if '"turfmap.layers"' in path.read_text("utf-8")
    ]
    assert readers == ["definitions.py"]


def test_modules_and_functions_stay_small() -> None:
    """A file that grows because it is open already is the commonest way to lose a house."""
    too_long = []
    for path in [*modules("turfmap"), *modules("tests"), *modules("demo")]:
        text = path.read_text("utf-8")
        if text.count("\n") > LONGEST_MODULE:
            too_long.append(path.name)
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                start = node.body[1].lineno if ast.get_docstring(node) and node.body[1:] else None
                length = (node.end_lineno or 0) - (start or node.body[0].lineno) + 1
                if length > LONGEST_FUNCTION:
                    too_long.append(f"{path.name}:{node.name}")
    assert not too_long


def test_the_page_of_layers_is_fresh() -> None:
    """Made by ``python -m turfmap layers --page``; a stale copy tells lies."""
    assert (ROOT / "layers" / "README.md").read_text("utf-8") == layers_page()


def test_no_second_sqlite_touches_a_place() -> None:
    """GDAL's own SQLite does not see our locks, and writing a layer through it is not atomic.

    So nothing in the process that writes calls it: frames never read or write files themselves,
    and foreign files are opened by the worker process alone.
    """
    text = {path: path.read_text("utf-8") for path in modules("turfmap")}
    ways = (".to_file(", "read_file(")
    assert [path.name for path, code in text.items() if any(way in code for way in ways)] == []
    importers = [path.name for path, code in text.items() if "import fiona" in code]
    assert importers == ["gdal_files.py"]
    code = "import sys, turfmap.desk.bring_in; print({'fiona', 'pyogrio'} & set(sys.modules))"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "set()"
