import re
from pathlib import Path

from turfmap.views.draw_page import PAGE, static_files

PAGES = Path(__file__).parents[2] / "turfmap" / "views" / "pages" / "draw"


def test_the_page_links_to_its_own_files_and_to_nothing_else() -> None:
    files = static_files()
    page = files[PAGE][0].decode()
    linked = re.findall(r'(?:href|src)="([^"]*)"', page)
    others = {"record.html"}  # the form for visits is a page of its own
    assert {name for name in linked if name != "data:,"} == files.keys() - {PAGE} | others
    # A strict policy allows neither: CSP Level 3, section 4.2.
    assert " style=" not in page
    assert "<script>" not in page


def test_every_script_and_style_of_the_page_is_in_what_is_handed_out() -> None:
    given = "\n".join(body.decode() for body, _ in static_files().values())
    for path in PAGES.iterdir():
        if path.suffix in {".js", ".css"}:
            assert path.read_text(encoding="utf-8") in given, path.name


def test_the_notices_of_what_is_built_in_travel_with_the_page() -> None:
    page = static_files()[PAGE][0].decode()
    assert "leaflet 1.9.4" in page
    assert "Sumit Kumar" in page  # whom geoman's own licence names
    assert "Redistributions of source code must retain" in page  # BSD-3-Clause of a part of it
