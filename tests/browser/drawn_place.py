"""An invented estate in a file, the real server before it, and the page open in a browser."""

import re
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import uvicorn
from playwright.sync_api import Browser, Locator

from tests.browser.visit import Visit
from turfmap.desk import features
from turfmap.desk.edits import apply_edits
from turfmap.desk.new import new
from turfmap.doors.web.app import make_app
from turfmap.doors.web.settings import Settings

AS_OF = date(2026, 9, 24)
WEST, SOUTH = -89.2, 40.1
# Metres in a degree of longitude and latitude at 40.1 degrees north (WGS 84; by pyproj.Geod).
DEGREE_M = (85_268.0, 111_037.0)
SIZES = {"wide": (1280, 800), "phone": (390, 844)}

Metres = list[tuple[float, float]]

ESTATE: dict[str, tuple[str, Metres, dict[str, Any]]] = {
    "Larkmoor House": ("property", [(0, 0), (200, 0), (200, 150), (0, 150)], {}),
    "Front lawn": (
        "zone",
        [(10, 10), (90, 10), (90, 60), (10, 60)],
        {"kind": "turf", "species": "tall_fescue", "property": "Larkmoor House"},
    ),
    "Side lawn": (
        "zone",
        [(90, 10), (150, 10), (150, 60), (90, 60)],
        {"kind": "turf", "property": "Larkmoor House"},
    ),
    "Mill pond": ("water", [(100, 80), (140, 80), (140, 120), (100, 120)], {"kind": "pond"}),
}


def place_of(metres: tuple[float, float]) -> list[float]:
    """Return longitude and latitude [deg] of a place in metres east and north of the corner."""
    return [WEST + metres[0] / DEGREE_M[0], SOUTH + metres[1] / DEGREE_M[1]]


def polygon(corners: Metres) -> dict[str, Any]:
    return {"type": "Polygon", "coordinates": [[place_of(at) for at in (*corners, corners[0])]]}


def put(path: Path, name: str, layer: str, corners: Metres, tags: dict[str, Any]) -> None:
    feature = {
        "type": "Feature",
        "geometry": polygon(corners),
        "properties": {"name": name, **tags},
    }
    apply_edits(
        path,
        [{"layer": layer, "op": "create", "id": ident(name), "feature": feature}],
        who="test",
        keep_overlaps=True,
    )


def ident(name: str) -> str:
    return re.sub(r"\W+", "-", name.lower())


@cache
def _estate() -> bytes:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "estate.gpkg"
        new(path)
        for name, (layer, corners, tags) in ESTATE.items():
            put(path, name, layer, corners, tags)
        return path.read_bytes()


def estate(path: Path) -> Path:
    """Put the estate, as nobody has changed it yet, into a file; a server may be before it."""
    path.write_bytes(_estate())
    return path


def stored(path: Path, layer: str) -> dict[str, dict[str, Any]]:
    """Return what the file holds of a layer, by name."""
    found = features.features(path, layer, features.Query()).features
    return {one.plain()["properties"]["name"]: one.plain() for one in found}


@dataclass(frozen=True)
class Ground:
    """A place that is being served, and the address of the page."""

    place: Path
    address: str


@contextmanager
def served(place: Path, **more: Any) -> Iterator[Ground]:
    """Serve a place from this process."""
    listener = socket.socket()
    listener.bind(("127.0.0.1", 0))
    port = listener.getsockname()[1]
    app = make_app(Settings(place=place, key="test-key", port=port, as_of=AS_OF, **more))
    config = uvicorn.Config(app, log_level="critical", lifespan="off", ws="none")
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
    thread.start()
    try:
        yield Ground(place, f"http://127.0.0.1:{port}/app/#key=test-key&view=draw")
    finally:
        server.should_exit = server.force_exit = True
        thread.join()
        listener.close()


class Drawing(Visit):
    """The drawing page, with hands."""

    def __init__(self, browser: Browser, size: tuple[int, int]) -> None:
        width, height = size
        self.is_phone = width < 500
        self.context = browser.new_context(
            viewport={"width": width, "height": height},
            has_touch=self.is_phone,
            is_mobile=self.is_phone,
        )
        self.context.set_default_timeout(8_000)
        super().__init__(self.context.new_page())
        self.breaches: list[str] = []
        self.page.expose_function("breached", self._breached)
        self.page.add_init_script(
            "document.addEventListener('securitypolicyviolation',"
            " (event) => breached(event.violatedDirective + ' ' + event.blockedURI))"
        )

    def _breached(self, said: str) -> None:
        self.breaches.append(said)

    def open(self, address: str) -> "Drawing":
        self.page.goto(address)
        self.ready()
        return self

    def button(self, name: str) -> Locator:
        return self.page.get_by_role("button", name=name, exact=True)

    def press(self, name: str) -> None:
        if self.is_phone:
            self.button(name).tap()
            self.page.wait_for_timeout(60)  # the browser makes the click of a tap a little later
        else:
            self.button(name).click()

    def at(self, east_m: float, north_m: float) -> tuple[float, float]:
        """Return where on the screen a place in metres is."""
        lng, lat = place_of((east_m, north_m))
        found: list[float] = self.page.evaluate(
            """([lat, lng]) => {
              const box = turfmap.map.getContainer().getBoundingClientRect();
              const at = turfmap.map.latLngToContainerPoint([lat, lng]);
              return [box.x + at.x, box.y + at.y];
            }""",
            [lat, lng],
        )
        return found[0], found[1]

    def see(self, east_m: float, north_m: float, zoom: int) -> None:
        """Lay the crosshair on a place."""
        lng, lat = place_of((east_m, north_m))
        self.page.evaluate(
            "([lat, lng, zoom]) => { turfmap.map.setView([lat, lng], zoom, { animate: false }); }",
            [lat, lng, zoom],
        )

    def touch(self, east_m: float, north_m: float) -> None:
        """Click or tap a place on the map."""
        x, y = self.at(east_m, north_m)
        if self.is_phone:
            self.page.touchscreen.tap(x, y)
            self.page.wait_for_timeout(50)  # two taps in one instant would be one double tap
        else:
            self.page.mouse.move(x, y)
            self.page.mouse.click(x, y)

    def drag(self, start: tuple[float, float], goal: tuple[float, float]) -> None:
        """Drag from a place in metres to another, by mouse or by finger."""
        way = [self.at(*start), self.at(*goal)]
        middle = tuple((a + b) / 2 for a, b in zip(*way, strict=True))
        if not self.is_phone:
            self.page.mouse.move(*way[0])
            self.page.mouse.down()
            self.page.mouse.move(*middle)
            self.page.mouse.move(*way[1], steps=3)
            self.page.mouse.up()
            return
        finger = self.context.new_cdp_session(self.page)
        for kind, at in (("Start", way[0]), ("Move", middle), ("Move", way[1]), ("End", None)):
            points = [{"x": at[0], "y": at[1]}] if at else []
            finger.send("Input.dispatchTouchEvent", {"type": f"touch{kind}", "touchPoints": points})
        finger.detach()

    def draw(self, layer: str, corners: Metres) -> None:
        """Draw an area by setting its corners with mouse or finger, and finish it."""
        self.press(layer)
        for corner in corners:
            self.touch(*corner)
        self.press("Finish")

    def choose(self, name: str) -> None:
        """Take a thing in hand from the list."""
        self.page.locator("#list-table").get_by_role("button", name=name, exact=True).click()
        self.until("#panel-hand, #panel-look")

    def tag(self, label: str, value: str) -> None:
        field = self.page.get_by_label(label)
        if field.evaluate("node => node.tagName") == "SELECT":
            field.select_option(label=value)
        else:
            field.fill(value)
            field.press("Tab")

    def save(self) -> None:
        self.page.locator("#said").evaluate("node => { node.textContent = ''; }")
        self.press("Save")
        self.said("Saved: ")

    def saved(self) -> None:
        """Wait until nothing is left to be saved."""
        self.until("#save-state", "All saved")

    def said(self, text: str) -> None:
        """Wait until the page says something."""
        self.until("#said", text)

    def told(self, text: str) -> None:
        """Wait until the page says that something went wrong."""
        self.until("#notice", text)

    def corner(self, number: int) -> Locator:
        return self.page.get_by_role("button", name=re.compile(f"^Corner {number} of "))

    def measured(self) -> None:
        """Wait until the server has said what the shape in hand means."""
        self.until("#hand-told[data-measured=yes]")

    def closes_well(self, address: str) -> None:
        """Close it; it never breached the policy nor asked anybody but its server."""
        self.context.close()
        own = address.partition("/app/")[0]
        assert self.breaches == []
        assert [url for url in self.requests if not url.startswith((own, "data:", "blob:"))] == []
