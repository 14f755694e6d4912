"""Take the pictures of `demo/gallery.md`: every view, made by the program from the demo's place.

Run by a developer when a view's look changes: ``python tests/house/gallery.py``. It needs a
browser, as the tests do.
"""

import shlex
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Browser, ViewportSize, sync_playwright

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.browser.chromium import chromium  # noqa: E402
from tests.house.picture import small_png  # noqa: E402

GALLERY = ROOT / "demo" / "gallery"
PAGE = ROOT / "demo" / "gallery.md"
DESK: ViewportSize = {"width": 1280, "height": 800}
PHONE: ViewportSize = {"width": 390, "height": 844}
LARGEST = 400_000
ESTATE = '--property "Larkspur Hollow"'


@dataclass(frozen=True)
class View:
    """A command, the page that it writes, and what a reader sees there.

    Without a command the page is one that the view before it wrote.
    """

    name: str
    command: str
    page: str
    sees: str
    size: ViewportSize


VIEWS = (
    View(
        "map",
        "map demo.gpkg --as-of 2026-09-24 --out map-all.html",
        "map-all.html",
        "The map of a whole business: each property's zones by what is due first, no-spray ground"
        " hatched, and the key. One file; it needs no network.",
        DESK,
    ),
    View(
        "map-phone",
        f"map demo.gpkg {ESTATE} --as-of 2026-09-24 --out map-estate.html",
        "map-estate.html",
        "One estate on a phone.",
        PHONE,
    ),
    View(
        "crew",
        f'crew demo.gpkg {ESTATE} --product "Broadleaf three-way" --on 2026-10-03T08:00'
        ' --wind "6 mph NW" --droplet coarse --air 71F --out crew.html',
        "crew.html",
        "What a crew opens at the kerb: may this be put down here, now, and if not, why.",
        PHONE,
    ),
    View(
        "day-map",
        "days demo.gpkg --from 2026-09-14 --for 2d --trucks trucks.csv"
        ' --use autumn_pre_emergent="Spring barrier, liquid" --what-if overseeding=none --out week',
        "week/map.html",
        "Spray days: the stops of each truck and day in order, and no-spray ground near them.",
        DESK,
    ),
    View(
        "day-list",
        "",
        "week/list.html",
        "The same days as a list: times, gallons, what to know at the gate.",
        PHONE,
    ),
    View(
        "week-board",
        "",
        "week/board.html",
        "The planner's week: trucks by days; a stop dragged to another day shows its cost first"
        " where the board is opened with days --board.",
        DESK,
    ),
    View(
        "inspect",
        "inspect demo.gpkg --out inspect.html",
        "inspect.html",
        "What is odd about the drawn ground, listed and drawn.",
        DESK,
    ),
    View(
        "sheet",
        f'sheet demo.gpkg {ESTATE} --product "Broadleaf three-way" --on 2026-10-03T08:00'
        ' --carrier "1 gal/1000sqft" --tank 100gal --out sheet.html',
        "sheet.html",
        "The day sheet, for paper.",
        DESK,
    ),
)


def main() -> None:
    """Make the demo, run each view's command, and keep its picture."""
    GALLERY.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        place = Path(folder) / "demo"
        _turfmap(f"demo --into {shlex.quote(str(place))}", Path(folder))
        browser = chromium(playwright)
        for view in VIEWS:
            if view.command:
                _turfmap(view.command, place)
            picture = small_png(_taken(browser, place / view.page, view.size), browser)
            if len(picture) > LARGEST:
                raise SystemExit(f"{view.name} has {len(picture):,} bytes, more than {LARGEST:,}.")
            (GALLERY / f"{view.name}.png").write_bytes(picture)
        browser.close()
    PAGE.write_text(gallery_page(), encoding="utf-8")


def gallery_page() -> str:
    """Return the page of the gallery."""
    parts = [
        "# What turfmap shows",
        "Made by `python tests/house/gallery.py` from the demo's place, whose ground and clients"
        " are invented.\n",
    ]
    for view in VIEWS:
        width = 780 if view.size == DESK else 280
        parts.append(
            f"{view.sees}\n\n"
            f'<img src="gallery/{view.name}.png" alt="{view.sees}" width="{width}">\n'
        )
        if view.command:
            parts.append(f"```\nturfmap {view.command}\n```\n")
    return "\n".join(parts)


def _turfmap(command: str, folder: Path) -> None:
    words = [sys.executable, "-m", "turfmap", *shlex.split(command)]
    surroundings = {"PYTHONPATH": str(ROOT), "PATH": "/usr/bin:/bin"}
    done = subprocess.run(
        words, cwd=folder, env=surroundings, check=False, capture_output=True, text=True
    )
    if done.returncode:
        raise SystemExit(f"turfmap {command}: {done.stderr}")


def _taken(browser: Browser, path: Path, size: ViewportSize) -> bytes:
    page = browser.new_page(viewport=size, offline=True)
    page.goto(path.as_uri())
    page.wait_for_timeout(1_500.0)
    return bytes(page.screenshot())


if __name__ == "__main__":
    main()
