"""Starts a headless Chromium that speaks to nobody."""

import os
import shutil

from playwright.sync_api import Browser, Error, Playwright

NAMES = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "msedge",
)
ARGUMENTS = (
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


class NoBrowserError(Exception):
    """Raised when no browser can be started, with what to do."""


def chromium(playwright: Playwright) -> Browser:
    """Return the machine's own Chromium, Chrome or Edge, or else Playwright's.

    Raises
    ------
    NoBrowserError
        If none starts.
    """
    found = next(filter(None, map(shutil.which, NAMES)), None)
    # A sandbox of its own needs a user who is not root.
    is_root = hasattr(os, "geteuid") and os.geteuid() == 0
    arguments = [*ARGUMENTS, *(["--no-sandbox"] if is_root else [])]
    try:
        return playwright.chromium.launch(executable_path=found, args=arguments)
    except Error as error:
        raise NoBrowserError(
            "The browser tests need Chromium, Chrome or Edge, and none could be started. Install "
            "one (on Debian: apt-get install chromium; anywhere: playwright install chromium). "
            f"The browser said: {str(error).splitlines()[0]}"
        ) from None
