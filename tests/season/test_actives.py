"""What visits leave of an active ingredient, and what speaks against it on a day.

The figures of each active ingredient are those of the table active_ingredient: prodiamine 0.33 to
1.5 lb per acre, at most 1.5 a year; dithiopyr 60 days between applications (label H1).
"""

from datetime import date, timedelta
from typing import Any

import pytest

from tests.season.lawns import answer, bermuda, judged, visit, warm_climate
from turfmap.season.rules import listed

SEPTEMBER = date(2026, 9, 24)
NONE = [answer("none")]
PRODUCTS = [
    {"name": "Grain", "active_ingredients": "prodiamine"},
    {"name": "Early", "active_ingredients": "dithiopyr"},
    {"name": "Pair", "active_ingredients": "2,4-D; dicamba"},
]
PRE = "autumn_pre_emergent"


def put_down(
    task: str, day: date, product: str | None, rate_lb_per_acre: float | None = None
) -> dict[str, Any]:
    held = {row["name"]: listed(row["active_ingredients"]) for row in PRODUCTS}
    actives = held.get(product or "", listed(product))
    rates = {} if rate_lb_per_acre is None else dict.fromkeys(actives, rate_lb_per_acre)
    return visit(task, day) | {"product": product, "rates_lb_per_acre": rates}


def line_of(active: str, visits: list[dict[str, Any]], as_of: date = SEPTEMBER) -> str:
    task = judged(bermuda(), as_of, answers=NONE, visits=visits, products=PRODUCTS)[PRE]
    lines: list[str] = task["reasons"]
    return next(line for line in lines if active in line)


def test_the_annual_limit_counts_what_a_year_put_down() -> None:
    spring = date(2026, 2, 20)
    within = [put_down("spring_pre_emergent", spring, "Grain", 0.75)]
    assert line_of("prodiamine", within).startswith("Borne by")
    over = [put_down("spring_pre_emergent", spring, "Grain", 1.3)]  # 1.3 and 0.33 pass 1.5
    assert "annual limit of 1.5 lb per acre is reached" in line_of("prodiamine", over)
    assert line_of("pendimethalin", over).startswith("Borne by")
    old = [put_down("spring_pre_emergent", SEPTEMBER - timedelta(days=365), "Grain", 1.3)]
    assert line_of("prodiamine", old).startswith("Borne by")


def test_an_amount_that_nobody_wrote_down_holds_that_active_ingredient() -> None:
    unknown = [put_down("spring_pre_emergent", date(2026, 2, 20), "Grain")]
    line = line_of("prodiamine", unknown)
    assert line.startswith("Not now")
    assert "write down how much" in line
    often = [put_down("spring_pre_emergent", date(2026, 2, n), "Grain") for n in (1, 5, 9, 13)]
    assert "annual limit of 1.5 lb per acre is reached" in line_of("prodiamine", often)


def test_a_visit_without_a_product_is_a_question_that_names_its_day() -> None:
    task = judged(
        bermuda(), SEPTEMBER, answers=NONE, visits=[visit("spring_pre_emergent", date(2026, 2, 20))]
    )[PRE]
    assert task["state"] == "ask"
    assert any(
        "What was put down on 20 Feb 2026 (spring pre-emergent)?" in h for h in task["holds"]
    )


def test_the_interval_of_a_label_is_kept_whatever_it_was_put_down_for() -> None:
    lately = [put_down("spring_pre_emergent", date(2026, 8, 10), "Early", 0.1)]
    assert "again after 60 days, 9 Oct 2026" in line_of("dithiopyr", lately)
    assert "again after" not in line_of("dithiopyr", lately, date(2026, 10, 9))


def test_a_product_may_hold_several_and_may_be_named_by_its_active_ingredient() -> None:
    december = date(2026, 12, 5)
    for product in ("Pair", "2,4-D"):
        done = [put_down("broadleaf_post_emergent", december - timedelta(days=9), product, 0.5)]
        task = judged(bermuda(), december, answers=NONE, visits=done, products=PRODUCTS)
        lines = task["broadleaf_post_emergent"]["reasons"]
        assert any(line.startswith("Not now, 2,4-D") for line in lines)


def test_where_all_that_serves_is_used_up_the_task_is_held() -> None:
    """Glyphosate is the only one for a dormant clean-up, and nobody wrote down how much went on."""
    january = date(2027, 1, 10)
    dormant = [*NONE, answer("yes", "fully_dormant", answered_on=january)]
    mild = [row | {"air_max_c": 18.0} for row in warm_climate(date(2026, 12, 1), january)]
    done = [put_down("dormant_clean_up", date(2026, 2, 1), "glyphosate")]
    states = [
        judged(bermuda(), january, answers=dormant, visits=visits, weather=mild)[
            "dormant_clean_up"
        ]["state"]
        for visits in ([], done)
    ]
    assert states == ["due", "ask"]


def test_heat_is_judged_by_each_label() -> None:
    """Mecoprop-p under 85 F, 2,4-D under 90 F (table active_ingredient)."""
    november = date(2026, 11, 20)
    warm = [row | {"air_max_c": 31.0} for row in warm_climate(date(2026, 11, 1), november)]  # 88 F
    lines = judged(bermuda(), november, answers=NONE, weather=warm)["broadleaf_post_emergent"][
        "reasons"
    ]
    hot = next(line for line in lines if "not above 85 F" in line)
    assert "mecoprop-p" in hot
    assert "2,4-D" not in hot


@pytest.mark.parametrize(
    ("product", "days", "state"),
    [
        ("2,4-D", 25, "held"),  # four weeks
        ("2,4-D", 29, "due"),
        ("dithiopyr", 90, "held"),  # 13 weeks
        ("dithiopyr", 92, "due"),
        ("prodiamine", 100, "held"),  # its wait is not entered: 180 days, and asked about after
        ("prodiamine", 200, "ask"),
        (None, 100, "held"),
        (None, 200, "ask"),
        (None, 361, "due"),
    ],
)
def test_seed_waits_for_what_was_put_down(product: str | None, days: int, state: str) -> None:
    """Weeks before seed as in the table active_ingredient, from memory."""
    sowing = date(2026, 10, 20)
    done = [put_down("spring_pre_emergent", sowing - timedelta(days=days), product, 0.1)]
    planned = [answer("planned", date=sowing)]
    tasks = judged(bermuda(), sowing, answers=planned, visits=done)
    assert tasks["overseeding"]["state"] == state


def test_the_ways_out_are_offered_in_order_with_the_last_day_of_each() -> None:
    """Foramsulfuron: two weeks before overseeding (label text, source H8)."""
    planned = [answer("planned", date=date(2026, 10, 20))]
    reasons = judged(bermuda(), SEPTEMBER, answers=planned)[PRE]["reasons"]
    starts = ["Instead, first: a post-emergent", "Then wait", "Or overseed and live", "Once the"]
    places = [next(n for n, line in enumerate(reasons) if line.startswith(s)) for s in starts]
    assert places == sorted(places)
    assert "until 6 Oct 2026: foramsulfuron" in reasons[places[0]]
    centipede = judged(bermuda(species="centipede"), SEPTEMBER, answers=planned)[PRE]["reasons"]
    assert not any("foramsulfuron" in line for line in centipede if line.startswith("Instead"))
