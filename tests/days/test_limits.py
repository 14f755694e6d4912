"""The label's year: which applications lie in it, and that an unknown one is never nothing."""

from datetime import date

import pytest

from turfmap.days.limits import CALENDAR, ROLLING, Applied, a_year_before, fullest_year

SPRING, AUTUMN = date(2026, 3, 3), date(2025, 9, 24)


def test_rolling_and_calendar_years_hold_different_applications() -> None:
    applied = [Applied(AUTUMN, 0.65, "Barrier"), Applied(SPRING, 0.5, "Barrier")]
    on = date(2026, 9, 23)
    rolling = fullest_year(applied, 0.25, day=on, label_year=ROLLING)
    calendar = fullest_year(applied, 0.25, day=on, label_year=CALENDAR)
    assert rolling.total_lb_per_acre == pytest.approx(1.4)
    assert calendar.total_lb_per_acre == pytest.approx(0.75)
    assert fullest_year(applied, 0.25, day=on, label_year=None) == rolling
    next_day = fullest_year(applied, 0.25, day=date(2026, 9, 24), label_year=ROLLING)
    assert next_day.total_lb_per_acre == pytest.approx(0.75)
    assert "0.65 (24 Sep 2025, Barrier) + 0.5 (3 Mar 2026, Barrier) + 0.25" in rolling.arithmetic()


def test_a_year_that_ends_after_the_load_counts_as_well() -> None:
    """Any twelve months: a visit entered for later must not be broken by a load put before it."""
    later = [Applied(date(2026, 10, 20), 0.6, "Barrier")]
    found = fullest_year(later, 0.5, day=date(2026, 9, 24), label_year=ROLLING)
    assert found.total_lb_per_acre == pytest.approx(1.1)


def test_an_unknown_amount_makes_the_sum_unknown() -> None:
    found = fullest_year(
        [Applied(SPRING, None, "Barrier")], 0.5, day=date(2026, 9, 1), label_year=None
    )
    assert [one.day for one in found.unknown] == [SPRING]
    long_ago = [Applied(date(2020, 3, 3), None, "Barrier")]
    assert not fullest_year(long_ago, 0.5, day=date(2026, 9, 1), label_year=None).unknown
    assert fullest_year(long_ago, 0.5, day=None, label_year=None).unknown


def test_a_year_before_a_leap_day() -> None:
    assert a_year_before(date(2028, 2, 29)) == date(2027, 2, 28)
