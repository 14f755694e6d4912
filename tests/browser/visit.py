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


# Playwright looks again after ever longer pauses, at last of half a second; who watches the page
# for changes knows at once.
UNTIL = """([selector, text, is_gone, patience_ms]) => new Promise((tell) => {
  const shown = () => [...document.querySelectorAll(selector)].some((node) =>
    node.checkVisibility() && node.textContent.replace(/\\s+/g, " ").includes(text));
  const watching = new MutationObserver(() => look());
  const end = (is_so) => { watching.disconnect(); tell(is_so); };
  const look = () => { if (shown() !== is_gone) end(true); };
  watching.observe(document,
    { attributes: true, characterData: true, childList: true, subtree: true });
  setTimeout(() => end(false), patience_ms);
  look();
})"""
PATIENCE_MS = 20_000


class Visit:
    """A page open in the browser, with all that it complained of and asked the network for."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.complaints: list[str] = []
        self.requests: list[str] = []
        page.on("console", lambda message: self.complaints.append(message.text))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("request", lambda request: self.requests.append(request.url))

    def until(self, selector: str, text: str = "", *, is_gone: bool = False) -> None:
        """Wait until an element is shown that holds some text, or until none is any more."""
        if not self.page.evaluate(UNTIL, [selector, text, is_gone, PATIENCE_MS]):
            there = self.page.locator(selector).all_text_contents()
            raise AssertionError(f"{selector}: {text!r} {'stays' if is_gone else 'not'} in {there}")

    def ready(self) -> None:
        """Wait until the page's scripts have done all that they do at the start."""
        self.until("html[data-ready]")

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
