"""The crew page and the day sheet of a place: what reaches them, and what holds."""

import json
import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import shapely

from tests.desk.checking import PLAIN, conditions, make_place
from tests.desk.recording import table
from tests.views.read_page import PageReader
from turfmap.days.load_sheet import Equipment
from turfmap.days.quantities import rate, volume
from turfmap.desk.crew_page import crew_file
from turfmap.desk.day_sheet import day_sheet_file
from turfmap.desk.visit_load import LoadAsked
from turfmap.desk.visit_plan import NO_HOUR, PlanAsked, visit_plan
from turfmap.foundations.errors import InputFaultsError


@pytest.fixture(scope="module")
def known_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_place(tmp_path_factory.mktemp("known"))


@pytest.fixture
def place(known_once: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(known_once, tmp_path))


def asked(**changed: Any) -> PlanAsked:
    given: dict[str, Any] = {"product": "Clover spray", "conditions": conditions()} | changed
    return PlanAsked(**given)


def data_of(page: Path) -> dict[str, Any]:
    [found] = json.loads(PageReader(page.read_text("utf-8")).data["map-data"])["places"]
    return dict(found)


def test_what_the_check_says_is_on_the_page(place: Path, tmp_path: Path) -> None:
    out = tmp_path / "crew.html"
    result = crew_file(place, ["Alder"], asked(), out=out, overrides=PLAIN)
    [zone] = result["properties"][0]["zones"]
    assert zone["answer"] == "go"
    shown = data_of(out)
    assert shown["zones"][0]["answer"] == "go"
    assert shown["zones"][0]["reasons"]
    assert [cause["name"] for cause in shown["causes"]] == ["Mill pond"]
    assert shown["surveyed_on"] == "2026-01-05"
    assert shown["task"] in {"", *shown["tasks"]}
    assert result["bytes"] == out.stat().st_size <= 300_000


# 2 pt/acre is the rate in checking.py; an acre is 43,560 sq ft, and 1 gal of spray covers 1,000.
def test_the_load_is_that_of_the_zones_that_are_no_no(place: Path, tmp_path: Path) -> None:
    equipment = Equipment(rate("1 gal/1000sqft", record=""), volume("10 gal", record=""))
    plan = visit_plan(place, "Alder", asked(load=LoadAsked(equipment)), overrides=PLAIN)
    assert plan.load is not None
    [mix] = plan.load["loads"]
    gallons = mix["area_sqft"] / 1_000
    assert mix["spray"]["volume"]["gal"] == pytest.approx(gallons, rel=1e-9)
    assert plan.load["exact"]["gal"] == pytest.approx(0.25 * mix["area_sqft"] / 43_560, rel=1e-9)
    assert plan.zones[0].amount == plan.load["exact"]["words"]


def test_a_load_that_breaks_a_limit_is_told_and_the_page_is_made(place: Path) -> None:
    too_much = LoadAsked(rate=rate("20 pt/acre", record=""))
    plan = visit_plan(place, "Alder", asked(load=too_much), overrides=PLAIN)
    assert plan.load is None
    assert plan.load_faults


NOT_SURVEYED: list[dict[str, Any]] = [
    {"known": False},
    {"water_surveyed_on": "2026-12-24"},  # still to come
    {"water_surveyed_on": "2025-10-23"},  # more than a year before
]


@pytest.mark.parametrize("about", NOT_SURVEYED)
def test_without_a_survey_by_that_day_every_zone_holds(
    tmp_path: Path, about: dict[str, Any]
) -> None:
    plan = visit_plan(make_place(tmp_path, **about), "Alder", asked(), overrides=PLAIN)
    assert plan.surveyed_on == ""
    assert [zone.answer for zone in plan.zones] == ["wait"]


@pytest.mark.parametrize("lacking", ["wind", "droplet", "air", "dry_hours"])
def test_what_is_not_given_is_never_a_go(place: Path, lacking: str) -> None:
    plan = visit_plan(
        place, "Alder", asked(conditions=conditions(**{lacking: None})), overrides=PLAIN
    )
    assert [zone.answer for zone in plan.zones] == ["wait"]


def test_a_day_without_an_hour_or_a_product_is_never_a_go(place: Path) -> None:
    plan = visit_plan(place, "Alder", asked(knows_hour=False), overrides=PLAIN)
    assert [zone.answer for zone in plan.zones] == ["wait"]
    assert plan.zones[0].reasons[0] == NO_HOUR
    assert plan.on == "2026-10-24"
    nothing = visit_plan(place, "Alder", asked(product=None), overrides=PLAIN)
    assert [zone.answer for zone in nothing.zones] == ["wait"]
    assert nothing.load is None


def test_downwind_only_ground_lies_inside_the_all_round_ground(place: Path) -> None:
    columns = "product,category,distance_ft,downwind_only"
    table(place, "product_setback", columns, "Clover spray,pond,60,yes")
    from_west, unknown = (
        visit_plan(place, "Alder", asked(conditions=conditions(wind=wind)), overrides=PLAIN)
        for wind in ("6 mph W", "6 mph variable")
    )
    grounds = [
        shapely.union_all([one.geometry for one in plan.no_spray]) for plan in (from_west, unknown)
    ]
    # The pond lies west of the lawn: with wind from the west no drop goes back to it.
    assert grounds[0].area < 0.9 * grounds[1].area
    assert shapely.difference(grounds[0], grounds[1]).area < 0.01
    assert any(one.downwind_only for one in from_west.no_spray)
    assert not any(one.downwind_only for one in unknown.no_spray)


def test_every_fault_is_told_at_once_and_nothing_is_written(place: Path, tmp_path: Path) -> None:
    out = tmp_path / "crew.html"
    with pytest.raises(InputFaultsError) as found:
        crew_file(place, ["Beech", "Alder", "Cedar"], asked(), out=out, overrides=PLAIN)
    assert [name in str(found.value) for name in ("Beech", "Cedar")] == [True, True]
    assert not out.exists()
    no_day = asked(conditions=replace(conditions(), on=None))
    with pytest.raises(InputFaultsError, match="no day is given"):
        crew_file(place, ["Alder"], no_day, out=out, overrides=PLAIN)


@pytest.mark.parametrize("ending", [".pdf", ".html"])
def test_a_sheet_is_replaced_only_if_turfmap_wrote_it(
    place: Path, tmp_path: Path, ending: str
) -> None:
    out = tmp_path / f"sheet{ending}"
    first = day_sheet_file(place, [], asked(), out=out, overrides=PLAIN)
    bytes_of = out.read_bytes()
    assert first["bytes"] == len(bytes_of)
    day_sheet_file(place, ["Alder"], asked(), out=out, overrides=PLAIN)
    assert out.read_bytes() == bytes_of
    out.write_bytes(b"%PDF-1.7 somebody else's")
    with pytest.raises(InputFaultsError, match="turfmap did not write"):
        day_sheet_file(place, ["Alder"], asked(), out=out, overrides=PLAIN)
    assert out.read_bytes() == b"%PDF-1.7 somebody else's"


def test_another_ending_is_refused_before_anything_is_made(place: Path, tmp_path: Path) -> None:
    with pytest.raises(InputFaultsError, match=r"\.pdf or \.html"):
        day_sheet_file(place, ["Alder"], asked(), out=tmp_path / "sheet.txt", overrides=PLAIN)
