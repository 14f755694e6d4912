"""What visits put down, known or not: it counts before seed, by interval and by limit.

Weeks before seed and other figures are those of the table active_ingredient, from memory unless
the row says otherwise; the book's figures are invented.
"""

from datetime import date, timedelta
from typing import Any

import pytest

from tests.season.lawns import answer, bermuda, judged, visit, warm_climate

SEPTEMBER = date(2026, 9, 24)
SOWING = date(2026, 10, 20)
NONE = [answer("none")]
PLANNED = [answer("planned", date=SOWING)]
PRE = "autumn_pre_emergent"


def sown(visits: list[dict[str, Any]], **more: Any) -> dict[str, Any]:
    return judged(bermuda(), SOWING, answers=PLANNED, visits=visits, **more)["overseeding"]


def test_a_visit_that_nobody_can_read_is_a_question_that_names_its_day() -> None:
    spring = date(2026, 2, 20)
    for product, words in (
        (None, "What was put down on 20 Feb 2026 (spring pre-emergent)?"),
        ("Prodiamin 65", "What does 'Prodiamin 65' hold, put down on 20 Feb 2026"),
    ):
        done = [visit("spring_pre_emergent", spring, product)]
        task = judged(bermuda(), SEPTEMBER, answers=NONE, visits=done)[PRE]
        assert task["state"] == "ask"
        assert any(words in said for said in task["holds"])
    year_later = [visit("spring_pre_emergent", SEPTEMBER - timedelta(days=365))]
    assert judged(bermuda(), SEPTEMBER, answers=NONE, visits=year_later)[PRE]["state"] == "due"


def test_a_product_of_the_book_whose_active_ingredient_no_table_has_is_a_question() -> None:
    book = [{"name": "New one", "active_ingredients": "prodiamine; novachlor"}]
    done = [visit("spring_pre_emergent", date(2026, 2, 20), "New one")]
    task = judged(bermuda(), SEPTEMBER, answers=NONE, visits=done, products=book)[PRE]
    assert task["state"] == "ask"
    assert any("What does 'New one' hold" in said for said in task["holds"])


def test_a_feed_may_hold_a_weedkiller_only_if_its_product_is_not_known() -> None:
    day = date(2026, 6, 10)
    book = [{"name": "Plain feed", "active_ingredients": None}]
    states = [
        judged(
            bermuda(),
            SEPTEMBER,
            answers=NONE,
            visits=[visit("feeding_warm_season", day, product)],
            products=book,
        )[PRE]["state"]
        for product in (None, "Plain feed", "Feed and weed")
    ]
    assert states == ["due", "due", "ask"]


@pytest.mark.parametrize(
    ("task", "active", "days", "state"),
    [
        ("broadleaf_post_emergent", "metsulfuron", 55, "held"),  # 8 weeks
        ("broadleaf_post_emergent", "metsulfuron", 57, "due"),
        ("post_emergent_first_pass", "foramsulfuron", 13, "held"),  # 2 weeks (label, H8)
        ("dormant_clean_up", "glyphosate", 100, "held"),  # no wait is entered
        ("dormant_clean_up", "glyphosate", 250, "ask"),
        ("feeding_warm_season", "atrazine", 100, "held"),  # 26 weeks, in a feed
        ("insect_scouting", "bifenthrin", 10, "due"),  # an insecticide leaves seed alone
    ],
)
def test_seed_waits_for_every_active_ingredient_whatever_it_was_for(
    task: str, active: str, days: int, state: str
) -> None:
    done = [visit(task, SOWING - timedelta(days=days), active, 0.1)]
    found = sown(done)
    assert found["state"] == state
    if state == "held":
        assert active in found["holds"][0]
    if state == "ask":
        assert "read it off the label" in found["holds"][0]
        assert found["tell_client"] == "We wait with this: overseeding."


def test_the_product_book_counts_where_it_is_stricter() -> None:
    """Dithiopyr: 13 weeks before seed, 60 days between, 1.5 lb a year by the table."""
    book = [
        {
            "name": "Early",
            "active_ingredients": "dithiopyr",
            "reseed_wk": 20.0,
            "retreat_d": 90.0,
            "annual_max_lb_per_acre": {"dithiopyr": 0.5},
        }
    ]
    day = SOWING - timedelta(days=100)
    alone = [visit("spring_pre_emergent", day, "dithiopyr")]
    assert sown(alone, products=book)["state"] == "due"  # 91 days have passed
    strict = sown([visit("spring_pre_emergent", day, "Early")], products=book)
    assert strict["state"] == "held"
    assert "your product book, Early" in strict["holds"][0]
    lax = [book[0] | {"reseed_wk": 2.0}]
    early = [visit("spring_pre_emergent", SOWING - timedelta(days=80), "Early")]
    assert sown(early, products=lax)["state"] == "held"


def reasons(days: int, rate_lb_per_acre: float, book: list[dict[str, Any]]) -> str:
    done = visit("spring_pre_emergent", SEPTEMBER - timedelta(days=days), "Early")
    done |= {"rates_lb_per_acre": {"dithiopyr": rate_lb_per_acre}}
    task = judged(bermuda(), SEPTEMBER, answers=NONE, visits=[done], products=book)[PRE]
    return str(next(line for line in task["reasons"] if "dithiopyr" in line))


def test_intervals_and_limits_of_the_book_are_told_with_their_source() -> None:
    plain = {"name": "Early", "active_ingredients": "dithiopyr"}
    assert reasons(80, 0.3, [plain]).startswith("Borne by")
    kept = reasons(80, 0.3, [plain | {"retreat_d": 90.0}])
    assert "again after 90 days by your product book, Early" in kept
    least = reasons(80, 0.3, [plain | {"annual_max_lb_per_acre": {"dithiopyr": 0.5}}])
    assert "annual limit of 0.5 lb per acre by your product book, Early is reached" in least
    more = reasons(80, 0.3, [plain | {"annual_max_lb_per_acre": {"dithiopyr": 9.0}}])
    assert more.startswith("Borne by")


def test_a_wait_before_seed_of_the_book_holds_an_application_to_come() -> None:
    """Foramsulfuron: two weeks before seed (label text, source H8); 20 days are left."""
    day = date(2026, 10, 10)
    planned = [answer("planned", date=day + timedelta(days=20))]
    mild = warm_climate(day - timedelta(days=30), day)
    book = [{"name": "Pass", "active_ingredients": "foramsulfuron", "reseed_wk": 4.0}]
    states = [
        judged(bermuda(), day, answers=planned, weather=mild, products=products)[
            "post_emergent_first_pass"
        ]["state"]
        for products in ([], book)
    ]
    # All others that bermudagrass bears wait three weeks and more by the table.
    assert states == ["due", "held"]


def test_an_interval_that_is_not_entered_is_asked_about() -> None:
    """Glyphosate has none in the table; the longest of any there is 60 days (dithiopyr, H1)."""
    day = date(2027, 2, 5)
    dormant = [*NONE, answer("yes", "fully_dormant", answered_on=day)]
    mild = [row | {"air_max_c": 18.0} for row in warm_climate(date(2027, 1, 1), day)]
    book = [
        {
            "name": "Clean",
            "active_ingredients": "glyphosate",
            "retreat_d": wait_d,
            "annual_max_lb_per_acre": {"glyphosate": 6.0},
        }
        for wait_d in (None, 14.0)
    ]
    for days, products, state in ((20, 0, "ask"), (61, 0, "due"), (20, 1, "due"), (13, 1, "held")):
        done = visit("dormant_clean_up", day - timedelta(days=days), "Clean")
        done |= {"rates_lb_per_acre": {"glyphosate": 0.5}}
        task = judged(
            bermuda(),
            day,
            answers=dormant,
            visits=[done],
            weather=mild,
            products=[book[products]],
        )["dormant_clean_up"]
        said = " ".join(task["reasons"])
        assert ("are not entered: read them off the label" in said) == (state == "ask"), days
        if state == "held":
            assert "again after 14 days by your product book, Clean" in said
