"""What holds for every test: nothing is skipped where all is meant to run."""

import os

import pytest


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
