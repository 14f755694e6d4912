import base64
import gzip
import hashlib
import json
import re

import folium
import pytest
from branca.element import Element
from folium.plugins import Fullscreen

from tests.views.read_page import PageReader
from turfmap.views.offline_page import (
    LARGEST_PLAIN_BLOCK,
    OfflineFigure,
    Raw,
    UnknownLinkError,
    json_block,
)

FRAME = "$top$head</head><body>$map $script $extra</body></html>"


def page_of(*children: Element, extra: str = "") -> str:
    figure = OfflineFigure(FRAME, {"extra": extra})
    shell = folium.Map(location=[0, 0], tiles=None)
    for child in children:
        shell.add_child(child)
    shell.add_to(figure)
    return figure.render()


def test_folium_links_are_replaced_and_nothing_is_fetched() -> None:
    page = page_of()
    read = PageReader(page)
    assert read.attributes("src") == []
    assert read.attributes("href") == []
    assert all("@import" not in style for style in re.findall(r"<style>(.*?)</style>", page, re.S))
    assert set(re.findall(r"url\(([^)]{0,10})", page)) <= {
        "data:image",
        "#default#V",
        "#default#VML",
    }


def test_a_plugin_that_is_not_vendored_is_an_error_that_names_its_link() -> None:
    with pytest.raises(UnknownLinkError, match=r"Control\.FullScreen"):
        page_of(Fullscreen())  # type: ignore[no-untyped-call]


def test_folium_forbids_zooming_and_we_do_not() -> None:
    assert "user-scalable" not in page_of()


# W3C Content Security Policy 3, 2.3.1: a hash source is the base64 of the script's SHA-256.
def test_the_policy_allows_the_scripts_of_the_page_and_no_others() -> None:
    read = PageReader(page_of(extra="<script>var ours = 1;</script>"))
    [policy] = [
        attrs["content"]
        for tag, attrs in read.elements
        if attrs.get("http-equiv") == "Content-Security-Policy"
    ]
    expected = {
        base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
        for script in read.scripts
    }
    assert set(re.findall(r"'sha256-([^']+)'", policy)) == expected
    assert len(expected) >= 3
    directives = dict(part.split(" ", 1) for part in policy.split("; "))
    assert "unsafe-inline" not in directives["script-src"]
    assert directives["default-src"] == directives["connect-src"] == "'none'"
    assert directives["base-uri"] == directives["form-action"] == "'none'"


def test_raw_text_is_never_a_template() -> None:
    assert Raw("{{ 7*7 }}{% bad").render() == "{{ 7*7 }}{% bad"


def test_a_part_is_not_read_again_for_places_to_fill() -> None:
    assert "$map ${head} $policy" in page_of(extra="$map ${head} $policy")


def test_a_large_block_is_packed_and_holds_the_same() -> None:
    content = {"words": ["</script>" * 10] * (LARGEST_PLAIN_BLOCK // 80)}
    block = json_block("large", content)
    assert len(block) < 50_000
    packed = base64.b64decode(PageReader(block).data["large"])
    assert json.loads(gzip.decompress(packed)) == content
    assert json_block("large", content) == block


def test_a_number_that_json_cannot_hold_is_refused() -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        json_block("bad", {"area": float("nan")})
