import json

from tests.views.read_page import PageReader
from tests.views.sample import odd_estate
from turfmap.views.odd_page import CAUTIONS, OddContent, odd_page


def test_the_same_content_gives_the_same_page() -> None:
    assert odd_page(odd_estate()) == odd_page(odd_estate())


def test_a_page_says_what_it_is_and_links_to_nothing() -> None:
    read = PageReader(odd_page(odd_estate()))
    assert read.cautions == list(CAUTIONS)
    assert read.attributes("src") == read.attributes("href") == []


def test_what_is_odd_keeps_its_order_and_a_missing_shape_its_place() -> None:
    data = json.loads(PageReader(odd_page(odd_estate())).data["map-data"])
    assert data["odd"]["zone"] == ["Rose bed", "Long border", "Well corner", "House lawn"]
    assert data["odd"]["shapes"]["parts"] == [1, 1, 1, 0]


def test_a_page_of_nothing_is_a_page_that_says_so() -> None:
    page = odd_page(OddContent("Bare ground"))
    assert "Nothing odd was found" in page
    assert "What is odd in Bare ground" in page
