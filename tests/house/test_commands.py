"""The two commands: they start on any Python, need only its standard library, and hide nothing."""

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest

from demo import environment

ROOT = Path(__file__).parents[2]
SCRIPTS = ("demo/environment.py", "demo/run.py", "tests/run.py")

SKIPS = """
import pytest

def test_runs() -> None: ...

@pytest.mark.skip(reason="to see it counted")
def test_skipped() -> None: ...
"""


@pytest.mark.parametrize("script", SCRIPTS)
def test_an_older_python_can_read_the_script(script: str) -> None:
    # It must come as far as the sentence that says which Python is needed.
    ast.parse((ROOT / script).read_text("utf-8"), feature_version=(3, 8))


@pytest.mark.parametrize("script", SCRIPTS)
def test_only_the_standard_library_is_needed(script: str) -> None:
    tree = ast.parse((ROOT / script).read_text("utf-8"))
    names = [node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    for node in ast.walk(tree):
        names += [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
    foreign = {name.partition(".")[0] for name in names} - sys.stdlib_module_names
    assert foreign <= {"demo"}


@pytest.mark.parametrize("script", [*SCRIPTS, ".ci/run", "pyproject.toml"])
def test_no_host_is_named(script: str) -> None:
    assert "://" not in (ROOT / script).read_text("utf-8")


def test_an_older_python_is_told_what_is_needed() -> None:
    with pytest.raises(SystemExit, match=r"needs Python 3\.11 or newer, and this is Python 3\.9"):
        environment.refuse_old_python((3, 9))
    environment.refuse_old_python((3, 11))


def test_the_environment_is_filled_again_only_when_something_changed(tmp_path: Path) -> None:
    declared = tmp_path / "pyproject.toml"
    declared.write_text("[project]", encoding="utf-8")
    first = environment.fingerprint(tmp_path, ("3.11",))
    assert environment.fingerprint(tmp_path, ("3.11",)) == first
    assert environment.fingerprint(tmp_path, ("3.12",)) != first
    declared.write_text("[project]\n", encoding="utf-8")
    assert environment.fingerprint(tmp_path, ("3.11",)) != first


def test_a_failed_step_shows_its_output_and_stops(capsys: pytest.CaptureFixture[str]) -> None:
    broken = [sys.executable, "-c", "import sys; print('no such library'); sys.exit(3)"]
    with pytest.raises(SystemExit, match="Trying failed"):
        environment.run_quietly(broken, "Trying")
    assert "no such library" in capsys.readouterr().err


@pytest.mark.parametrize(("ci", "status"), [("true", 1), ("", 0)])
def test_a_skipped_test_fails_where_ci_is_set(tmp_path: Path, ci: str, status: int) -> None:
    (tmp_path / "conftest.py").write_bytes((ROOT / "tests" / "conftest.py").read_bytes())
    (tmp_path / "test_some.py").write_text(SKIPS, encoding="utf-8")
    surroundings = dict(os.environ, CI=ci)
    command = [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", str(tmp_path)]
    done = subprocess.run(command, cwd=tmp_path, env=surroundings, capture_output=True, check=False)
    said = done.stdout.decode()
    assert done.returncode == status, said
    assert "1 passed, 1 skipped" in said
    assert ("1 skipped counts as failed" in said) == bool(ci)


def test_ci_runs_the_same_command_as_people() -> None:
    script = ROOT / ".ci" / "run"
    assert script.read_text("utf-8").rstrip().endswith("python3 tests/run.py")
    assert "set -euo pipefail" in script.read_text("utf-8")
    # Mode as git keeps it; a checkout on Windows has no such bit of its own.
    assert os.name == "nt" or os.access(script, os.X_OK)


def test_a_python_that_cannot_make_environments_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # Debian's python3 without the package python3-venv has no ensurepip.
    monkeypatch.setattr(environment, "find_spec", lambda name: None)
    with pytest.raises(SystemExit, match="apt install python3-venv"):
        environment.make()
