"""Records handed out: whatever people wrote in them, nothing in it runs."""

import csv
import io
import json
import shutil
from html.parser import HTMLParser
from pathlib import Path

import pytest

from tests.desk.recording import SAID
from turfmap.desk.record import record
from turfmap.desk.record_list import export
from turfmap.foundations.errors import InputFaultsError


@pytest.fixture
def place(recording_once: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(recording_once, tmp_path))


FORMULAS = ["=cmd()", "+1+2", "-1+cmd()", "@SUM(A1)", "\t=1", " =1", "＝1"]


def test_no_cell_of_the_csv_is_a_formula(place: Path) -> None:
    """OWASP, CSV injection: cells that begin with = + - @, tab or line end (from memory)."""
    for text in FORMULAS:
        record(place, SAID | {"note": text, "by": f"{text}\r\n=x", "equipment": '",=cmd()'})
    out = place.parent / "records.csv"
    assert export(place, out)["records"] == len(FORMULAS)
    read = list(csv.DictReader(io.StringIO(out.read_text("utf-8"), newline="")))
    assert len(read) == 2 * len(FORMULAS)
    for row in read:
        for cell in row.values():
            assert not cell.lstrip().startswith(("=", "+", "-", "@", "＝")), cell
    assert float(read[0]["amount"]) + float(read[1]["amount"]) == pytest.approx(3.5)


class Elements(HTMLParser):
    """What a browser would see: elements, and the text in them."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[str] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [name for name, _ in attrs]

    def handle_data(self, data: str) -> None:
        self.text += data


def test_the_sheet_shows_text_and_runs_nothing(place: Path) -> None:
    attack = "</dd><script>alert(1)</script><img src=x onerror=alert(1)>${policy}"
    record(place, SAID | {"note": attack, "by": attack})
    out = place.parent / "records.html"
    export(place, out)
    page = Elements()
    page.feed(out.read_text("utf-8"))
    assert not {"script", "img", "link", "iframe"} & set(page.tags)
    assert not [name for name in page.attributes if name.startswith("on") or name == "src"]
    assert attack in page.text
    assert "default-src 'none'" in out.read_text("utf-8")


def test_the_json_holds_every_row(place: Path) -> None:
    record(place, SAID)
    out = place.parent / "records.json"
    export(place, out)
    (one,) = json.loads(out.read_text("utf-8"))["records"]
    assert [row["zone"] for row in one["rows"]] == ["Front", "Back"]
    assert one["amount"] == pytest.approx(3.5)
    with pytest.raises(InputFaultsError, match="end its name in"):
        export(place, place.parent / "records.xls")
