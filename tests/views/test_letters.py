"""Letters: text from a file is shown and does nothing, in every format; templates fail in words."""

import io
from typing import Any

import pypdf
import pytest
import shapely
from markdown_it import MarkdownIt

from turfmap.foundations.errors import InputFaultsError
from turfmap.views.letter_map import DrawnZone, letter_map
from turfmap.views.letter_page import letter_html, letter_pdf
from turfmap.views.letter_text import Letters, inert_text

HOSTILE = (
    "<script>alert(1)</script>",
    "# heading",
    "- item",
    "1. item",
    "![x](http://a.example/x.png)",
    "[x](javascript:alert(1))",
    "<http://a.example>",
    "{{ 7 * 7 }} {% for x in y %}",
    "a\n\n# b\n| c | d |",
    "&lt;b&gt; &#60; `code` **bold** _it_ ~~no~~",
    "\u202eevil\x00",
    "=cmd()",
)
BUSINESS = dict.fromkeys(
    ("name", "phone", "email", "address", "licence", "closing", "reply_by"), ""
)


def letter(text: str, **own: str) -> str:
    facts: dict[str, Any] = {
        "client": text,
        "business": BUSINESS | {"name": text},
        "picture": "",
        "day": "1 Sep 2026",
        "holding": [
            {"words": text, "why": text, "choices": [text], "where": [text], "blocks": [text]}
        ],
        "visit": [],
        "properties": [text],
    }
    own = {f"{kind}.md": template for kind, template in own.items()}
    return Letters("en", own, file="style").text("questions", facts)


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_shown_and_does_nothing(text: str) -> None:
    plain = letter("Plain name")
    hostile = letter(text)
    kinds = [token.type for token in MarkdownIt().enable("table").parse(plain)]
    assert [token.type for token in MarkdownIt().enable("table").parse(hostile)] == kinds
    inline = MarkdownIt("commonmark").parseInline(str(inert_text(text)))[0].children or []
    assert {token.type for token in inline} <= {"text", "text_special"}
    page = letter_html(hostile, title=text, language="en")
    assert "<script" not in page
    assert "<a " not in page
    assert "<img" not in page


def test_a_pdf_shows_the_text_and_holds_no_action() -> None:
    pdf = letter_pdf(letter_html(letter("<b>Tom</b> & Ann"), title="x", language="en"))
    read = pypdf.PdfReader(io.BytesIO(pdf))
    assert "<b>Tom</b> & Ann" in read.pages[0].extract_text()
    assert not any(name in pdf for name in (b"/JavaScript", b"/JS ", b"/Launch", b"/URI"))


def test_a_page_that_names_a_file_gets_none() -> None:
    """A business's own template may hold a picture: nothing is read or fetched for it."""
    text = letter("Tom", questions="![x](file:///etc/hostname) {{ client }}")
    page = letter_html(text, title="x", language="en")
    assert "<img" not in page


@pytest.mark.parametrize(
    ("template", "words"),
    [
        ("line\n{{ clint }}", "line 2: it uses a name that letters do not have"),
        ("{% if client %}", "line 1: it is broken"),
        ("{{ client.__class__.__mro__ }}", "questions.md, line 1"),
        ("\n\n{{ 1 / 0 }}", "line 3: it is broken"),
        ("{% include 'secret.md' %}", "it is broken"),
    ],
)
def test_a_broken_template_is_told_by_line(template: str, words: str) -> None:
    with pytest.raises(InputFaultsError, match=words):
        letter("Tom", questions=template)


def test_a_business_s_own_wording_takes_the_place_of_ours() -> None:
    assert letter("Tom", questions="Hi {{ client }}!") == "Hi Tom!\n"


def test_the_drawing_holds_numbers_and_no_text() -> None:
    zones = [DrawnZone(7, "turf", shapely.box(-84, 33, -83.999, 33.001)), DrawnZone(8, "x", None)]
    drawn = letter_map(zones)
    assert drawn is not None
    assert drawn.count("<path") == 1
    assert ">7</text>" in drawn
    assert ">8</text>" not in drawn
    assert letter_map([zones[1]]) is None
