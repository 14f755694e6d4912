"""Hostile text in every text column of a place, through what hands it on; judged by parsers.

The long form (``TURFMAP_LONG=1``) makes every view; the short one a page, a table and the terminal.
"""

import csv
import os
from html.parser import HTMLParser
from pathlib import Path

import pytest

from tests.hostile import views_made
from tests.hostile.hostile_place import hostile_place, texts
from tests.hostile.hostile_texts import SENTINEL
from tests.hostile.trying import Outcome, complaints
from turfmap.store.csv_text import FORMULA_SIGNS, WIDE_SIGNS
from turfmap.views.calendar_file import plain_text

LONG = bool(os.environ.get("TURFMAP_LONG"))
SHORT = {("record", "record.csv"), ("record", "record.html"), ("inspect", "odd.html")}
SHORT |= {("area", "place.gpkg"), ("area", "--json")}
# Names that the commands for single properties are given: a place's checks tidy the others.
NAMED = ("script", "end of script", "attribute", "end of data", "braces", "entities")


class Page(HTMLParser):
    """What a page would run: its scripts, and attributes that hold script."""

    def __init__(self) -> None:
        super().__init__()
        self.runs: list[str] = []
        self._script = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        data = dict(attrs).get("type") in {"application/json", "application/octet-stream"}
        self._script = tag == "script" and not data
        for name, value in attrs:
            if name.startswith("on") or (value or "").strip().lower().startswith("javascript:"):
                self.runs.append(f"{tag} {name}={value}")

    def handle_data(self, data: str) -> None:
        if self._script and SENTINEL in data:
            self.runs.append(data[:80])

    def handle_endtag(self, tag: str) -> None:
        self._script = False


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("texts")


@pytest.fixture(scope="module")
def outcomes(folder: Path) -> list[Outcome]:
    place = hostile_place(folder)
    properties = [texts()[name] for name in NAMED]
    wanted = None if LONG else SHORT
    return views_made.made(place, properties, properties[0], wanted=wanted)


def test_every_view_is_made_and_the_terminal_stays_a_terminal(outcomes: list[Outcome]) -> None:
    assert len(outcomes) >= len(SHORT)
    bad = {one.name: (complaints(one), one.said[-500:]) for one in outcomes if complaints(one)}
    assert bad == {}
    assert "\\u001b" in "".join(one.printed for one in outcomes), "what steers is shown"


def test_no_page_runs_what_a_file_said(folder: Path, outcomes: list[Outcome]) -> None:
    pages = list(folder.rglob("*.html"))
    assert len(pages) >= 2
    for page in pages:
        found = Page()
        found.feed(page.read_text(encoding="utf-8"))
        assert found.runs == [], page


def test_no_cell_is_a_formula(folder: Path, outcomes: list[Outcome]) -> None:
    """RFC 4180: as many cells in each line as in the first."""
    for file in folder.rglob("record.csv"):
        with file.open(encoding="utf-8", newline="") as opened:
            heading, *rows = list(csv.reader(opened, strict=True))
        assert len(rows) == len(texts())
        assert {len(row) for row in rows} == {len(heading)}
        signs = FORMULA_SIGNS + WIDE_SIGNS
        cells = [cell for row in rows for cell in row if cell.lstrip().startswith(signs)]
        assert [cell for cell in cells if not _is_number(cell)] == []


def _is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True


def test_text_for_a_calendar_or_a_track_holds_what_xml_may_hold() -> None:
    """XML 1.0, production 2 (Char): neither U+FFFE nor U+FFFF, no control but tab and line end."""
    assert plain_text("a\x00\x1b\x9b\ufffe\uffff\r\nb") == "a     \nb"
