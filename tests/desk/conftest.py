"""The place that tests of the record work on: made once, copied for each test."""

from pathlib import Path

import pytest

from tests.desk.recording import make_place


@pytest.fixture(scope="session")
def recording_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a place that no test may change."""
    return make_place(tmp_path_factory.mktemp("recording"))
