"""What a test sees of an open page."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import Page

AXE = Path(__file__).parent / "vendor" / "axe-core-4.14.1" / "axe.min.js"
AXE_RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


class Visit:
    """A page open in the browser, with all that it complained of and asked the network for."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.complaints: list[str] = []
        self.requests: list[str] = []
        page.on("console", lambda message: self.complaints.append(message.text))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("request", lambda request: self.requests.append(request.url))

    def left_the_file(self) -> list[str]:
        """Return the requests that went anywhere but the file itself."""
        return [url for url in self.requests if not url.startswith(("file:", "data:", "blob:"))]

    def axe_violations(self) -> list[str]:
        """Return what axe-core finds wrong for people who use the page in other ways."""
        self.page.evaluate(AXE.read_text(encoding="utf-8"))
        found: dict[str, Any] = self.page.evaluate(
            "tags => axe.run(document, { runOnly: { type: 'tag', values: tags } })", AXE_RULES
        )
        return [
            f"{violation['id']}: {node['html'][:120]}"
            for violation in found["violations"]
            for node in violation["nodes"]
        ]


Opener = Callable[[str, tuple[int, int]], Visit]
