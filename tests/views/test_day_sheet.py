import builtins
import io
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from tests.views.crew_sample import estate_plan, unsurveyed_plan
from tests.views.read_page import PageReader
from tests.views.sample import HOSTILE
from turfmap.foundations.errors import InputFaultsError
from turfmap.views.day_sheet import day_sheet
from turfmap.views.pdf import printed
from turfmap.views.plan_drawing import letter, plan_drawing

TITLE = "Larkmoor House, 3 Oct 2026"


@pytest.fixture(scope="module")
def pdf() -> bytes:
    return printed(day_sheet([estate_plan(), unsurveyed_plan()], title=TITLE))


def tags_of(node: Any, found: list[Any]) -> list[Any]:
    """Return every element of a PDF's structure tree."""
    whole = node.get_object()
    for child in whole if isinstance(whole, list) else [whole]:
        tag = child.get_object()
        if isinstance(tag, dict):
            found += [tag] if "/S" in tag else []
            if "/K" in tag and not isinstance(tag["/K"], int):
                tags_of(tag["/K"], found)
    return found


def test_the_sheet_says_zones_loads_causes_gates_signs_and_cautions(pdf: bytes) -> None:
    text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
    text = re.sub(r"\s+", " ", text)
    for part in (
        "Larkmoor House",
        "3 Oct 2026, 08:00",
        "Front lawn",
        "WAIT",
        "100 gal (379 L)",
        "Larkmoor pond",
        "where the wind blows toward it",
        "Latch sticks; lift it.",
        "CAUTION / PESTICIDE APPLICATION",
        "The product label is the law",
        "not surveyed: unknown",
        "Bare Lot",
    ):
        assert part in text


# ISO 14289-1 (PDF/UA-1): marked, with title, language, headings, tables, and words for pictures.
# From memory; that WeasyPrint writes them is what is tested.
def test_the_pdf_is_tagged_for_those_who_do_not_see_it(pdf: bytes) -> None:
    reader = PdfReader(io.BytesIO(pdf))
    root: Any = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert reader.metadata is not None
    assert reader.metadata.title == TITLE
    assert "pdfuaid" in root["/Metadata"].get_object().get_data().decode()
    tags = tags_of(root["/StructTreeRoot"]["/K"], [])
    kinds = {str(tag["/S"]) for tag in tags}
    assert {"/H1", "/H2", "/Table", "/TH", "/TD", "/Figure"} <= kinds
    figures = [tag for tag in tags if tag["/S"] == "/Figure"]
    assert all("Plan of" in str(figure["/Alt"]) for figure in figures)


def test_the_same_plan_prints_the_same_bytes(pdf: bytes) -> None:
    assert pdf == printed(day_sheet([estate_plan(), unsurveyed_plan()], title=TITLE))


def test_nothing_but_the_page_itself_goes_into_a_pdf(tmp_path: Path) -> None:
    style = tmp_path / "style.css"
    style.write_text("p::after { content: ' and from a file' }", encoding="utf-8")
    link = f'<link rel="stylesheet" href="{style.as_uri()}">'
    page = f'<html lang="en"><title>t</title>{link}<p>here</p>'
    text = PdfReader(io.BytesIO(printed(page))).pages[0].extract_text()
    assert "here" in text
    assert "from a file" not in text


def test_without_the_library_one_sentence_names_the_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    found = builtins.__import__

    def missing(name: str, *args: Any, **kwargs: Any) -> Any:
        if name.startswith("weasyprint"):
            raise ImportError("No module named 'weasyprint'")
        return found(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", missing)
    with pytest.raises(InputFaultsError, match=r"turfmap\[pdf\].*\.html") as fault:
        printed("<p>")
    assert len(fault.value.faults) == 1


def test_hostile_text_is_shown_and_is_no_markup() -> None:
    everything = " ".join(HOSTILE)
    page = day_sheet([estate_plan(lambda name: everything)], title=everything)
    shown = everything.encode("utf-8", "replace").decode("utf-8")
    read = PageReader(page)
    assert read.heading == shown
    assert read.scripts == []
    assert {tag for tag, _ in read.elements} & {"svg", "iframe", "script"} == set()
    assert all(source.startswith("data:image/svg+xml") for source in read.attributes("src"))


def test_the_plan_has_scale_north_hatches_numbers_and_letters() -> None:
    drawing = plan_drawing(estate_plan())
    for part in ("200 ft", ">N<", "url(#no-spray)", ">1 GO<", ">A<", ">E<"):
        assert part in drawing
    assert plan_drawing(estate_plan()) == drawing
    assert [letter(index) for index in (0, 25, 26, 51, 52)] == ["A", "Z", "AA", "AZ", "BA"]


def test_a_property_without_anything_drawn_still_prints() -> None:
    bare = replace(estate_plan(), zones=[], no_spray=[], things=[], load=None)
    page = day_sheet([bare], title=TITLE)
    assert "No load was worked out" in page
    assert printed(page).startswith(b"%PDF")
