"""What the tests of the crew page share: how it is opened, asked and looked at."""

from collections.abc import Callable
from pathlib import Path

from tests.browser.visit import Visit

WIDTHS = {320: 568, 360: 740, 390: 844, 1280: 800}
PICTURES = Path(__file__).parents[1] / "out"
TITLE = "Larkmoor House, 3 Oct 2026"
# On the plane of crew_sample [m]: in the pond, 0.7 m and 8 m west of the ground kept off round it,
# and on the front lawn.
POND, AT_ITS_EDGE, NEAR_IT, LAWN = (64.0, 31.0), (30.5, 28.1), (23.2, 28.1), (-80.0, -60.0)

Opened = Callable[..., Visit]


def ask(opened: Visit, x: float, y: float, accuracy: float = 0.0) -> str:
    """Ask the page about a place on its plane [m], and return the whole answer."""
    position = {"x": x, "y": y, "accuracy": accuracy, "isTap": True}
    opened.page.evaluate("position => turfmap.crew.ask(position)", position)
    return answer(opened)


def answer(opened: Visit) -> str:
    return "\n".join(
        opened.page.locator(name).inner_text() for name in ("#readout", "#readout-more")
    )


def state(opened: Visit) -> str:
    return opened.page.locator("#readout").get_attribute("data-state") or ""


def picture(opened: Visit, name: str, width: int) -> None:
    PICTURES.mkdir(exist_ok=True)
    opened.page.screenshot(path=PICTURES / f"crew-{name}-{width}.png")
