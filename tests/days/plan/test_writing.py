"""What people write: when nobody may come, tanks, hours; and the work that they ask for."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from turfmap.days.plan.no_go import closed_hours, weekdays
from turfmap.days.plan.problem import DAY_S, HOUR_S, Closed
from turfmap.days.plan.trucks import Tank, Truck, blocks_of, days_between, loaded, truck_of, worked
from turfmap.days.plan.works import (
    Ground,
    Site,
    Work,
    parted,
    sharing_days,
    site_seconds,
    spray_gallons,
)
from turfmap.days.quantities import rate
from turfmap.foundations.definitions import table
from turfmap.foundations.errors import InputFaultsError
from turfmap.foundations.units import SQUARE_METRES_PER_SQUARE_FOOT as M2
from turfmap.store.trucks import TRUCK

MONDAY = date(2026, 9, 14)
EMPTY: dict[str, Any] = dict.fromkeys(TRUCK.columns)
ROW: dict[str, Any] = EMPTY | {"truck": "One", "longitude": -83.0, "latitude": 33.5}


@pytest.mark.parametrize(
    ("text", "closed"),
    [
        ("", ()),
        ("Mon", (Closed(weekdays=frozenset({0})),)),
        ("tue-thu", (Closed(weekdays=frozenset({1, 2, 3})),)),
        ("Thursday 12:00-15:30", (Closed(12 * HOUR_S, 15 * HOUR_S + 1_800, frozenset({3})),)),
        ("11:00-13:00", (Closed(11 * HOUR_S, 13 * HOUR_S),)),
        ("2026-10-04", (Closed(day=date(2026, 10, 4)),)),
        (
            "Fri-Mon; 8:00 - 9:00",
            (Closed(0, DAY_S, frozenset({4, 5, 6, 0})), Closed(28_800, 32_400)),
        ),
    ],
)
def test_no_go_times_are_read(text: str, closed: tuple[Closed, ...]) -> None:
    assert closed_hours(text, record="no_go") == closed


@pytest.mark.parametrize(
    "text", ["someday", "Mon 15:00-12:00", "25:00-26:00", "2026-13-01", "12:00", "never; Mon"]
)
def test_what_is_not_understood_is_refused(text: str) -> None:
    with pytest.raises(InputFaultsError):
        closed_hours(text, record="no_go")


def test_a_closed_day_counts_on_its_weekday_alone() -> None:
    (monday,) = closed_hours("Mon", record="")
    assert [monday.is_on(date(2026, 9, n)) for n in (13, 14, 15)] == [False, True, False]
    assert weekdays("Mon-Fri", record="") == frozenset(range(5))


def test_a_truck_is_read_with_its_tanks_in_gallons_and_pounds() -> None:
    given = {"tanks": "200 gal; 100 gal Sedge spray; 300 lb", "starts": "6:30", "days": "Mon-Sat"}
    truck = truck_of(ROW | given, file="", record="")
    assert truck.tanks == (Tank(200.0, "gal"), Tank(100.0, "gal", "Sedge spray"), Tank(300.0, "lb"))
    assert (truck.starts_s, truck.weekdays) == (6 * HOUR_S + 1_800, frozenset(range(6)))
    wanted = {"Sedge spray": (10.0, "gal"), "B": (5.0, "gal"), "C": (9.0, "gal"), "D": (1.0, "lb")}
    carried = [tank.mix for tank in loaded(truck, wanted).tanks]
    assert carried == ["C", "Sedge spray", "D"]


@pytest.mark.parametrize(
    "given",
    [
        {"tanks": "big"},
        {"tanks": "-5 gal"},
        {"starts": "early"},
        {"off": "soon"},
        {"ends": "06:00"},
    ],
)
def test_a_truck_that_is_not_understood_is_refused(given: dict[str, Any]) -> None:
    with pytest.raises(InputFaultsError):
        truck_of(ROW | given, file="trucks.csv", record="line 2")


def test_blocks_follow_days_weather_and_shift() -> None:
    """Rain splits Tuesday in two, takes Wednesday, and leaves half an hour of Thursday."""
    truck = replace(truck_of(ROW, file="", record=""), off=frozenset({date(2026, 9, 18)}))
    days = days_between(MONDAY, date(2026, 9, 20))
    tuesday, wednesday, thursday = days[1:4]
    hours = {
        tuesday: [(8 * HOUR_S, 11 * HOUR_S), (14 * HOUR_S, 17 * HOUR_S)],
        wednesday: [],
        thursday: [(9 * HOUR_S, 9 * HOUR_S + 1_800)],
    }
    blocks = blocks_of(truck, depot=0, days=days, fit=hours)
    assert [block.day for block in blocks] == [MONDAY, tuesday, tuesday]
    whole, first, second = blocks
    assert (whole.opens, whole.closes, whole.shift_s) == (7 * HOUR_S, 18 * HOUR_S, 10 * HOUR_S)
    assert first.returns == second.leaves == DAY_S + 12 * HOUR_S + 1_800
    assert first.shift_s + second.shift_s <= truck.shift_s
    # A day later 2 % dearer, a day that is not forecast a quarter (table plan_price).
    assert first.share == second.share == pytest.approx(1.02 / 2)
    assert whole.share == pytest.approx(1.25)


def test_of_many_spans_the_longest_two_are_worked() -> None:
    truck = Truck("One", 0.0, 0.0)
    spans = [(n * HOUR_S, (n + size) * HOUR_S) for n, size in ((7, 1), (9, 2), (12, 1), (14, 3))]
    assert worked(truck, spans) == [spans[1], spans[3]]


def ground(
    name: str, sqft: float, *, slope: str | None = None, days: tuple[int, int] = (1, 20)
) -> Ground:
    first, last = (date(2026, 9, day) for day in days)
    return Ground(name, sqft * M2, slope, first, last)


def test_time_on_site_is_setting_up_and_ground_by_its_slope() -> None:
    """A trade magazine: 10,000 sq ft take 10 minutes, and up to 20 with pulling the hose (J4)."""
    task = "autumn_pre_emergent"
    assert site_seconds(task, [ground("lawn", 10_000.0)]) == pytest.approx(20 * 60, abs=1)
    factor = table("slope_class").by("slope")["steep"]["time_factor"]
    steep = site_seconds(task, [ground("bank", 10_000.0, slope="steep")])
    assert steep == pytest.approx((10 + 10 * factor) * 60, abs=1)


def test_spray_is_the_users_volume_else_the_usual_one_within_the_label() -> None:
    """2 gallons on 1,000 sq ft (J4); 87.12 an acre, so a label's 80 an acre caps it."""
    area_m2 = 10_000.0 * M2
    task = "autumn_pre_emergent"
    none = (None, None)
    high = (None, rate("80 gal/acre", record=""))
    own = rate("1 gal/1000 sq ft", record="")
    assert spray_gallons(task, area_m2, given=None, label=none) == pytest.approx(20.0)
    assert spray_gallons(task, area_m2, given=None, label=high) == pytest.approx(800_000 / 43_560)
    assert spray_gallons(task, area_m2, given=own, label=high) == pytest.approx(10.0)


def test_zones_without_a_day_in_common_are_separate_work() -> None:
    early, late = ground("a", 1.0, days=(1, 10)), ground("b", 1.0, days=(12, 20))
    both = ground("c", 1.0, days=(5, 20))
    groups = sharing_days([late, both, early])
    assert [[zone.zone for zone in group] for group in groups] == [["a", "c"], ["b"]]
    assert len(sharing_days([both, early])) == 1


def test_work_larger_than_a_tank_is_cut_into_parts_that_add_up() -> None:
    task = table("task").by("task")["autumn_pre_emergent"]
    zones = (ground("lawn", 200_000.0),)
    work = Work(
        "estate",
        Site("estate", 0.0, 0.0),
        task,
        zones,
        MONDAY,
        MONDAY,
        site_seconds("autumn_pre_emergent", zones),
        mix="m",
        amount=410.0,
        unit="gal",
    )
    parts = parted([work], largest={"m": 200.0}, longest_s=11 * HOUR_S)
    assert [part.id for part in parts] == [f"estate · part {n} of 3" for n in (1, 2, 3)]
    assert sum(part.amount for part in parts) == pytest.approx(410.0)
    assert max(part.amount for part in parts) <= 200.0
    assert sum(part.zones[0].treatable_m2 for part in parts) == pytest.approx(200_000.0 * M2)
    setup_s = 600
    spent = sum(part.service_s - setup_s for part in parts)
    assert spent == pytest.approx(work.service_s - setup_s, abs=3)
    assert parted([work], largest={"m": 500.0}, longest_s=11 * HOUR_S) == [work]
    assert parted([work], largest={}, longest_s=11 * HOUR_S) == [work]
