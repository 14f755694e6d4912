"""Take the picture of the demo's map that README.md shows.

Run by a developer when the map's look changes: ``python tests/house/picture.py``. It needs a
browser, as the tests do. The picture has 255 colours, so that it stays small.
"""

import base64
import struct
import sys
import tempfile
import zlib
from pathlib import Path

import numpy as np
from playwright.sync_api import Browser, ViewportSize, sync_playwright

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.browser.chromium import chromium  # noqa: E402
from turfmap.desk.demo import AS_OF, PLACE, demo  # noqa: E402
from turfmap.desk.map import map_file  # noqa: E402

PICTURE = ROOT / "demo" / "map.png"
ESTATE = "Larkspur Hollow"
SIZE: ViewportSize = {"width": 1280, "height": 800}
LARGEST = 250_000

# Its commonest colours, and the nearest of these everywhere.
FEW_COLOURS = """async (coded) => {
  const bytes = Uint8Array.from(atob(coded), (sign) => sign.charCodeAt(0));
  const picture = await createImageBitmap(new Blob([bytes]));
  const pen = new OffscreenCanvas(picture.width, picture.height).getContext("2d");
  pen.drawImage(picture, 0, 0);
  const { data } = pen.getImageData(0, 0, picture.width, picture.height);
  const seen = new Map();
  const colour = (i) => (data[i] << 16) | (data[i + 1] << 8) | data[i + 2];
  for (let i = 0; i < data.length; i += 4) {
    const key = colour(i);
    if (!seen.has(key)) seen.set(key, { count: 0, first: i });
    seen.get(key).count += 1;
  }
  const palette = [...seen.values()].sort((a, b) => b.count - a.count).slice(0, 255)
    .map(({ first }) => [data[first], data[first + 1], data[first + 2]]);
  const nearest = new Map([...seen].map(([key, { first }]) => {
    const away = palette.map(([r, g, b]) =>
      (r - data[first]) ** 2 + (g - data[first + 1]) ** 2 + (b - data[first + 2]) ** 2);
    return [key, away.indexOf(Math.min(...away))];
  }));
  const places = new Uint8Array(data.length / 4).map((_, i) => nearest.get(colour(4 * i)));
  let letters = "";
  for (let i = 0; i < places.length; i += 8192) {
    letters += String.fromCharCode(...places.subarray(i, i + 8192));
  }
  return { palette, places: btoa(letters), width: picture.width, height: picture.height };
}"""


def main() -> None:
    """Make the demo, open the map of its estate, and keep the picture."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        demo(Path(folder) / "demo")
        page = Path(folder) / "map.html"
        map_file(Path(folder) / "demo" / PLACE, as_of=AS_OF, out=page, property_name=ESTATE)
        browser = chromium(playwright)
        picture = small_png(taken(browser, page), browser)
        browser.close()
    if len(picture) > LARGEST:
        raise SystemExit(f"The picture has {len(picture):,} bytes, more than {LARGEST:,}.")
    PICTURE.write_bytes(picture)


def taken(browser: Browser, path: Path) -> bytes:
    """Return a picture of the page as it opens."""
    page = browser.new_page(viewport=SIZE, offline=True)
    page.goto(path.as_uri())
    page.wait_for_selector("html[data-ready]")
    return bytes(page.screenshot())


def small_png(picture: bytes, browser: Browser) -> bytes:
    """Return a picture as a PNG with a palette (W3C, PNG Specification, 3rd edition)."""
    coded = base64.b64encode(picture).decode("ascii")
    few = browser.new_page(offline=True).evaluate(FEW_COLOURS, coded)
    places = np.frombuffer(base64.b64decode(few["places"]), dtype=np.uint8)
    rows = places.reshape(few["height"], few["width"])
    unfiltered = np.pad(rows, ((0, 0), (1, 0))).tobytes()  # each row begins with its filter: none
    chunks = (
        (b"IHDR", struct.pack(">IIBBBBB", few["width"], few["height"], 8, 3, 0, 0, 0)),
        (b"PLTE", np.array(few["palette"], dtype=np.uint8).tobytes()),
        (b"IDAT", zlib.compress(unfiltered, 9)),
        (b"IEND", b""),
    )
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(name, data) for name, data in chunks)


def _chunk(name: bytes, data: bytes) -> bytes:
    check = struct.pack(">I", zlib.crc32(name + data))
    return struct.pack(">I", len(data)) + name + data + check


if __name__ == "__main__":
    main()
