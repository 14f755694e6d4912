"""What holds for every test: its place in the run, and nothing is skipped where all is meant."""

import os

import pytest


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the browser's tests last: its event loop stays in the thread as long as it runs."""
    items.sort(key=lambda item: "browser" in item.path.parts)


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Fail the run if tests were skipped and the variable CI is set."""
    if os.environ.get("CI") and _skipped(session.config):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(
    terminalreporter: pytest.TerminalReporter, config: pytest.Config
) -> None:
    """Say why a run without failures did fail."""
    count = _skipped(config)
    if os.environ.get("CI") and count:
        terminalreporter.write_line(f"CI is set, so {count} skipped counts as failed.", red=True)


def _skipped(config: pytest.Config) -> int:
    reporter = config.pluginmanager.get_plugin("terminalreporter")
    return len(reporter.stats.get("skipped", ())) if reporter else 0
