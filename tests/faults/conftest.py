"""What all fault runs ask and begin from, and the count of what was tried."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.faults.asking import Asking, asking
from tests.faults.places import make_folder
from tests.faults.tally import TALLY


@pytest.fixture(scope="package")
def asked() -> Iterator[Asking]:
    with asking() as process:
        yield process


@pytest.fixture(scope="package")
def made_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder that fault runs begin from; each works in copies of it."""
    return make_folder(tmp_path_factory.mktemp("faults") / "made")


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    if not TALLY.tried:
        return
    for kind, number in sorted(TALLY.tried.items()):
        terminalreporter.write_line(f"  {number:6,}  {kind}")
    tried = sum(TALLY.tried.values())
    terminalreporter.write_line(f"faults tried {tried:,}, lost {len(TALLY.lost)}")
    for line in TALLY.lost:
        terminalreporter.write_line(f"  lost: {line}")
