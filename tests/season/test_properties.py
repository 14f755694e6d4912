"""What must hold whatever the weather, the ground and the answers."""

import json
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.season.lawns import LATITUDE, answer, columns, judged, visit, warmer, zone
from turfmap.season.due import due
from turfmap.season.edges import Evidence
from turfmap.season.known_weather import KnownWeather
from turfmap.season.rules import shipped_rules
from turfmap.season.weather import Weather, weather_until
from turfmap.season.window_rows import WindowRows, grouped
from turfmap.season.windows import opening

FIRST = date(2026, 7, 1)
DAYS = 150
DAYS_OF_YEAR = st.dates(date(2026, 1, 1), date(2027, 12, 31))
GAP_SHARE = 0.03

GROUNDS = st.builds(
    zone,
    st.sampled_from(["turf", "bed"]),
    species=st.sampled_from([None, "bermuda", "centipede", "tall_fescue", "bahia"]),
    bed_type=st.sampled_from([None, "new_wood_shrubs", "tender_perennials", "mixed"]),
    irrigated=st.sampled_from([None, True, False]),
    soil=st.sampled_from([None, "sand", "clay"]),
    latitude=st.sampled_from([30.5, LATITUDE, 35.0, -20.0]),
)
ANSWERS = st.lists(
    st.one_of(
        st.builds(
            answer,
            st.sampled_from(["not_asked", "none", "planned", "done"]),
            date=st.one_of(st.none(), DAYS_OF_YEAR),
            answered_on=st.one_of(st.none(), DAYS_OF_YEAR),
        ),
        st.builds(answer, st.sampled_from(["no", "yes"]), st.just("turf_dry")),
        st.builds(answer, st.sampled_from(["before_freeze", "late_winter"]), st.just("cut_back")),
    ),
    max_size=3,
)
TASKS = sorted(shipped_rules().task.by("task"))
VISITS = st.lists(st.builds(visit, st.sampled_from(TASKS), DAYS_OF_YEAR), max_size=3)


def autumn(seed: int) -> Weather:
    """Return a ragged autumn with a few gaps."""
    chance = np.random.default_rng(seed)
    cooling = np.linspace(0.0, 22.0, DAYS)
    low = 24.0 - cooling + chance.normal(0.0, 3.0, DAYS)
    low[chance.random(DAYS) < GAP_SHARE] = np.nan
    rain = np.where(chance.random(DAYS) < 0.3, chance.exponential(8.0, DAYS), 0.0)
    nothing = np.full(DAYS, np.nan)
    return Weather(FIRST, low, low + 11.0, rain, nothing, nothing)


def falling_windows() -> list[WindowRows]:
    """Return the pre-emergent windows of autumn and all that wait for cooling alone."""
    windows = [rows for task in grouped(shipped_rules().window.rows).values() for rows in task]
    return [
        rows
        for rows in windows
        if not rows.follows
        and all(row["direction"] != "rising" for row in (*rows.opens, *rows.closes))
    ]


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000), st.integers(0, 10_000), st.floats(0.0, 8.0))
def test_a_warmer_autumn_never_moves_the_pre_emergent_earlier(
    seed: int, warm_seed: int, most_c: float
) -> None:
    """Each day warmer by its own amount, looked at on every day from before the record to after."""
    days = np.arange(-5, DAYS + 20) + FIRST.toordinal()
    cool = autumn(seed)
    by_c = np.random.default_rng(warm_seed).uniform(0.0, most_c, DAYS)
    records = [KnownWeather(weather, days) for weather in (cool, warmer(cool, by_c))]
    windows = falling_windows()
    assert "autumn_pre_emergent" in {rows.task for rows in windows}
    for rows in windows:
        before, after = (opening(rows, Evidence(record, {}), 2026) for record in records)
        assert (after.opens >= before.opens).all(), (rows.task, rows.name)
        assert (after.closes >= before.closes).all(), (rows.task, rows.name)


def rows_of(seed: int, *, without: str = "") -> list[dict[str, Any]]:
    """Return daily rows of 2026 and 2027, dry or wet, hot or mild, perhaps lacking a column."""
    chance = np.random.default_rng(seed)
    rain_mm = chance.choice([0.0, 0.7, 2.0])  # 0.7 mm a day are under half an inch in 14 days
    shift_c = chance.choice([-4.0, 0.0, 6.0])
    rows = []
    for number in range(730):
        day = date(2026, 1, 1) + timedelta(days=number)
        low = 10.0 + 11.0 * np.cos(2 * np.pi * (number - 200) / 365) + shift_c
        row = {"date": day, "air_min_c": low, "air_max_c": low + 12.0, "rain_mm": rain_mm}
        rows.append({name: value for name, value in row.items() if name != without})
    return rows


LOSSES = [
    "species",
    "bed_type",
    "irrigated",
    "soil",
    "answers",
    "one answer",
    "weather",
    "rain_mm",
    "air",
    "products",
]
PRODUCTS = [{"name": "Grain", "active_ingredients": "prodiamine; dithiopyr"}]


@settings(max_examples=120, deadline=None)
@given(GROUNDS, ANSWERS, VISITS, DAYS_OF_YEAR, st.integers(0, 50), st.sampled_from(LOSSES))
def test_a_hold_never_disappears_because_something_is_not_known(
    ground: dict[str, Any],
    answers: list[dict[str, Any]],
    visits: list[dict[str, Any]],
    as_of: date,
    seed: int,
    lost: str,
) -> None:
    weather = rows_of(seed)
    # Half the visits say what they put down, a third of a pound of it.
    visits = [
        row | {"product": "Grain", "rates_lb_per_acre": {"prodiamine": 0.33}} if place % 2 else row
        for place, row in enumerate(visits)
    ]
    held: dict[str, Any] = {"visits": visits, "products": PRODUCTS}
    known = judged(ground, as_of, answers=answers, weather=weather, **held)
    if lost in {"species", "bed_type", "irrigated", "soil"}:
        ground = ground | {lost: None}
    elif lost == "answers":
        # That the grass was seen to be dry, or seed sown, is a find and no answer that one lacks.
        finds = [row for row in answers if row["answer"] == "done"]
        answers = [*(row for row in answers if row["question"] == "turf_dry"), *finds]
    elif lost == "one answer":
        # A newer answer that says nothing is a question put and not answered.
        answers = [*answers, answer("not_asked", answered_on=as_of)]
    elif lost == "weather":
        weather = []
    elif lost == "products":
        held["visits"] = [row | {"rates_lb_per_acre": {}} for row in visits]
    else:
        weather = rows_of(seed, without="air_max_c" if lost == "air" else lost)
    unknown = judged(ground, as_of, answers=answers, weather=weather, **held)
    for name, task in known.items():
        if task["state"] in {"held", "ask"} and name in unknown:
            assert unknown[name]["state"] != "due", (name, task["holds"], unknown[name])


@settings(max_examples=30, deadline=None)
@given(st.lists(GROUNDS, min_size=2, max_size=5), ANSWERS, DAYS_OF_YEAR, st.randoms())
def test_the_order_of_zones_and_answers_is_irrelevant_and_the_bytes_are_the_same(
    grounds: list[dict[str, Any]], answers: list[dict[str, Any]], as_of: date, chance: Any
) -> None:
    zones = [ground | {"name": f"Zone {place}"} for place, ground in enumerate(grounds)]
    zones.append(zones[0] | {"name": "Twin"})  # the same ground, but with an answer of its own
    answers = [*answers, answer("planned", zone="Twin", answered_on=as_of)]
    shuffled = chance.sample(zones, len(zones))

    def tasks(rows: list[dict[str, Any]], said: Sequence[Any] = tuple(answers)) -> dict[str, str]:
        weather = weather_until(rows_of(3), as_of=as_of)
        found = due(columns(rows), answers=said, visits=[], weather=weather, as_of=as_of)
        return {one["zone"]: json.dumps(one, allow_nan=False) for one in found["zones"]}

    found = tasks(zones)
    assert found == tasks(shuffled) == tasks(zones)
    assert found == tasks(zones, chance.sample(answers, len(answers)))
    assert tasks([zones[-1]])["Twin"] == found["Twin"]
