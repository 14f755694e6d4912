"""Heat and what is not known of it: the table hold says 90 F, each active ingredient its own."""

from datetime import date, timedelta
from typing import Any

import pytest

from tests.season.lawns import answer, bermuda, columns, judged, warm_climate
from turfmap.foundations.units import celsius
from turfmap.season.due import due
from turfmap.season.weather import weather_until

NONE = [answer("none")]
SPRAY_ONE = "post_emergent_first_pass"
BROADLEAF = "broadleaf_post_emergent"


def record(last: date, high_f: float | None, *, days: int = 30) -> list[dict[str, Any]]:
    """Return days up to one, all with the same high."""
    high_c = None if high_f is None else celsius(high_f)
    rows = warm_climate(last - timedelta(days=days), last)
    return [row | {"air_max_c": high_c} for row in rows]


@pytest.mark.parametrize("day", [date(2026, 10, 5), date(2026, 10, 30)])
def test_heat_on_record_holds_in_october_and_a_gap_is_asked_about(day: date) -> None:
    """A bare calendar, of a place that keeps no weather, serves in October; its own decision."""
    hot, mild = record(day, 93.0), record(day, 75.0)
    stale = record(day - timedelta(days=3), 75.0)
    states = [
        judged(bermuda(), day, answers=NONE, weather=weather)[SPRAY_ONE]["state"]
        for weather in (hot, mild, stale, record(day, None), [])
    ]
    assert states == ["held", "due", "ask", "ask", "due"]


def test_a_client_is_not_told_that_it_was_hot_where_nobody_knows() -> None:
    day = date(2026, 7, 10)
    hot, unknown = (
        judged(bermuda(), day, answers=NONE, weather=weather)["summer_annual_post_emergent"]
        for weather in (record(day, 93.0), [])
    )
    assert hot["tell_client"] == "We wait for cooler days."
    assert "cooler" not in unknown["tell_client"]


def test_one_hot_day_is_enough_whatever_the_others_were() -> None:
    day = date(2026, 10, 5)
    rows = record(day, None)
    rows[-2]["air_max_c"] = celsius(91.0)
    assert judged(bermuda(), day, answers=NONE, weather=rows)[SPRAY_ONE]["state"] == "held"


def test_a_limit_of_its_own_does_not_take_the_unknown_for_cool() -> None:
    """Mecoprop-p under 85 F, 2,4-D under 90 F, dicamba without a limit (the table)."""
    day = date(2026, 11, 20)
    for weather in ([], record(day - timedelta(days=1), 60.0)):
        lines = judged(bermuda(), day, answers=NONE, weather=weather)[BROADLEAF]["reasons"]
        waits = [line for line in lines if line.startswith("Not now") and "not known" in line]
        assert any("mecoprop-p" in line for line in waits)
        assert any("2,4-D" in line for line in waits)
        borne = next(line for line in lines if line.startswith("Borne by"))
        assert "dicamba" in borne
        assert "2,4-D" not in borne


def test_where_all_that_serves_has_a_limit_it_asks_for_the_temperature() -> None:
    """With a book in which dicamba, the only one without a limit, has one too."""
    day = date(2026, 11, 20)
    book = [{"name": "Broad", "active_ingredients": "dicamba", "air_high_f": 85.0}]
    cool = record(day, 60.0)
    states = [
        judged(bermuda(), day, answers=NONE, weather=weather, products=book)[BROADLEAF]["state"]
        for weather in ([], cool)
    ]
    assert states == ["ask", "due"]


def test_a_typical_year_is_no_record_of_the_last_days() -> None:
    """Neither that it was cool nor that it rained; and it is not called seen."""
    day = date(2026, 7, 10)
    rows = record(day, 80.0)
    task = {}
    for is_typical in (False, True):
        weather = weather_until(rows, as_of=day, is_typical=is_typical)
        found = due(
            columns([bermuda(irrigated=False)]), answers=NONE, visits=[], weather=weather, as_of=day
        )
        (task[is_typical],) = (
            one
            for one in found["zones"][0]["tasks"]
            if one["task"] == "summer_annual_post_emergent"
        )
    assert task[False]["state"] == "due"
    assert task[True]["state"] == "ask"
    # Nor that it was mild enough for a clean-up spray (60 F on the day).
    december = date(2026, 12, 28)
    dormant = [*NONE, answer("yes", "fully_dormant", answered_on=december)]
    weather = weather_until(record(december, 70.0), as_of=december, is_typical=True)
    found = due(columns([bermuda()]), answers=dormant, visits=[], weather=weather, as_of=december)
    spray = next(one for one in found["zones"][0]["tasks"] if one["task"] == "dormant_clean_up")
    assert spray["state"] == "ask"
    assert any("typical year" in line for line in found["cautions"])
    september = date(2026, 9, 24)
    days = warm_climate(date(2026, 8, 1), september)
    weather = weather_until(days, as_of=september, is_typical=True)
    found = due(columns([bermuda()]), answers=NONE, visits=[], weather=weather, as_of=september)
    reasons = " ".join(found["zones"][0]["tasks"][0]["reasons"])
    assert "in a typical year by" in reasons
    assert "seen by" not in reasons
