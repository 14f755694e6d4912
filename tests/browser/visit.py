"""What a test sees of an open page."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import Page

AXE = Path(__file__).parent / "vendor" / "axe-core-4.14.1" / "axe.min.js"
AXE_RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


# WCAG 2.2, definitions of relative luminance and contrast ratio.
LOWEST_CONTRAST = """() => {
  const light = (rgb) => {
    const [r, g, b] = rgb.map((v) => v / 255)
      .map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const rgba = (text) => text.match(/[\\d.]+/g).map(Number);
  const ground = (node) => {
    for (; node; node = node.parentElement) {
      const [r, g, b, a = 1] = rgba(getComputedStyle(node).backgroundColor);
      if (a > 0.85) return [r, g, b];
    }
    return [255, 255, 255];
  };
  let lowest = 21;
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const { parentElement: node, data } = walker.currentNode;
    if (!data.trim() || !node.getClientRects().length) continue;
    const pair = [light(rgba(getComputedStyle(node).color).slice(0, 3)), light(ground(node))];
    const [dark, bright] = pair.sort((a, b) => a - b);
    lowest = Math.min(lowest, (bright + 0.05) / (dark + 0.05));
  }
  return lowest;
}"""


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

    def lowest_contrast(self) -> float:
        """Return the least contrast of any text that is shown with the ground under it."""
        return float(self.page.evaluate(LOWEST_CONTRAST))


Opener = Callable[[str, tuple[int, int]], Visit]
