"""The place that tests of the web door work on: made once, copied for each test."""

import shutil
from pathlib import Path

import pytest

from tests.desk.recording import make_place


@pytest.fixture(scope="session")
def made_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a place that no test may change."""
    return make_place(tmp_path_factory.mktemp("served"))


@pytest.fixture
def place(made_once: Path, tmp_path: Path) -> Path:
    """Return a place of the test's own."""
    return Path(shutil.copy(made_once, tmp_path))
