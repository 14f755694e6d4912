"""The plan of a place from end to end: what is due becomes stops, with days and reasons."""

import json
import shutil
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import osmium
import pytest

from tests.desk.recording import table
from turfmap.days.plan.search import Effort
from turfmap.desk.area import area
from turfmap.desk.protected import Overrides
from turfmap.desk.spray_days import plan_told, searched_plan, spray_days, with_stop_moved
from turfmap.desk.spray_inputs import Given, prepared
from turfmap.foundations.errors import InputFaultsError
from turfmap.store import geopackage

FIRST, LAST = date(2026, 9, 21), date(2026, 9, 25)  # Monday to Friday
TASK = "autumn_pre_emergent"
GRAIN = "Grain,prodiamine,0.2 %,granular,3 lb/1000 sq ft,50 lb"
TRUCK = "truck,longitude,latitude,tanks,licences,days,shift_h\n"
EFFORT = Effort(60, 1)
# Mild and breezy, nothing against it by the table spray_weather.
FINE = {"air_f": 70, "rain_in": 0, "wind_mph": 6}


@pytest.fixture
def place(recording_once: Path, tmp_path: Path) -> Path:
    """Return the place of the record tests, with a granular product in its book."""
    path = Path(shutil.copy(recording_once, tmp_path))
    columns = "name,active_ingredients,concentrations,formulation,rate,pack"
    table(path, "product", columns, GRAIN)
    return path


def given(
    place: Path, *, truck: str = "One,-84.01,33.0,400 lb; 200 gal,applicator,Mon-Fri,8"
) -> Given:
    file = place.with_name("trucks.csv")
    file.write_text(TRUCK + truck + "\n", encoding="utf-8")
    return Given(file, uses={TASK: "Grain"})


def plan(place: Path, asked: Given | None = None, first: date = FIRST) -> dict[str, Any]:
    asked = asked or given(place)
    return spray_days(place, first=first, last=LAST, given=asked, effort=EFFORT)


def forecast(place: Path, wet: dict[int, range]) -> Path:
    """Write an hourly forecast of the five days and one more; rain in some hours of some days."""
    lines = ["time,air_f,rain_in,wind_mph"]
    for hour in range(24 * 6):
        at = datetime(2026, 9, 21) + timedelta(hours=hour)
        rain = 0.2 if at.hour in wet.get(at.day, ()) else FINE["rain_in"]
        lines.append(
            f"{at.isoformat(timespec='minutes')},{FINE['air_f']},{rain},{FINE['wind_mph']}"
        )
    file = place.with_name("forecast.csv")
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return file


def write(place: Path, **columns: str) -> None:
    """Write into the columns of the one property."""
    changes = ", ".join(f"{name} = ?" for name in columns)
    with geopackage.editing(place) as connection:
        connection.execute(f"UPDATE property SET {changes}", list(columns.values()))  # noqa: S608


def test_what_is_due_becomes_a_stop_with_ground_pounds_and_minutes(place: Path) -> None:
    found = plan(place)
    (stop,) = [one for one in found["stops"] if one["task"] == TASK]
    ground = area(place, property_name=None, product="Grain", overrides=Overrides({}))["zones"]
    sqft = {zone["zone"]: zone["treatable_sqft"] for zone in ground if zone["kind"] == "turf"}
    assert {zone["zone"]: zone["treatable_sqft"] for zone in stop["zones"]} == pytest.approx(sqft)
    assert (stop["mix"], stop["unit"], stop["is_ready"]) == ("Grain", "lb", True)
    assert stop["amount"] == pytest.approx(sum(sqft.values()) * 3 / 1_000, abs=0.01)
    # 10 minutes and 60,000 sq ft an hour (table work_rate).
    assert stop["minutes"] == pytest.approx(10 + sum(sqft.values()) / 1_000, abs=0.1)
    assert stop["first"] <= stop["day"] <= stop["last"]
    assert stop["licences"] == ["applicator"]
    assert found["checked"] == {"faults": [], "stops": 1, "truck_days": 1}


def test_a_day_adds_up_and_says_how_its_times_are_known(place: Path) -> None:
    found = plan(place)
    (day,) = found["days"]
    away = datetime.fromisoformat(day["returns"]) - datetime.fromisoformat(day["leaves"])
    parts = ("driving_min", "working_min", "refill_min", "waiting_min")
    assert away.total_seconds() / 60 == pytest.approx(sum(day[part] for part in parts), abs=1.5)
    drives = sum(leg["drive_min"] for leg in day["legs"]) + day["home_min"]
    assert drives == pytest.approx(day["driving_min"], abs=0.3)
    assert found["travel"]["is_estimated"]
    assert found["travel"]["basis"] in found["cautions"]
    assert found["totals"]["served"] == found["totals"]["stops"] == 1


def test_the_same_seed_gives_the_same_bytes(place: Path) -> None:
    assert json.dumps(plan(place)) == json.dumps(plan(place))


def test_what_is_held_or_has_to_be_asked_is_no_stop(place: Path) -> None:
    answer = ("property,zone,question,answer,date", "Alder,Back,overseeding,planned,2026-10-20")
    table(place, "client_answer", *answer)
    found = plan(place)
    (stop,) = [one for one in found["stops"] if one["task"] == TASK]
    assert [zone["zone"] for zone in stop["zones"]] == ["Front"]
    aside = {(one["zone"], one["task"]) for one in found["not_stops"] + found["ask_first"]}
    assert ("Back", TASK) in aside


def test_rain_moves_the_work_and_a_week_of_it_leaves_it_out(place: Path) -> None:
    wet = {day: range(24) for day in (21, 22, 24)}
    asked = replace(given(place), forecast=forecast(place, wet))
    (day,) = plan(place, asked)["days"]
    assert day["day"] == "2026-09-23" or day["day"] == "2026-09-25"
    assert "fit to spray" in day["weather"]
    asked = replace(given(place), forecast=forecast(place, {n: range(24) for n in range(21, 27)}))
    found = plan(place, asked)
    (left,) = found["left_out"]
    assert left["binds"] == "weather"
    assert found["days"] == []


def test_a_forecast_by_the_day_takes_its_wet_and_cold_days(place: Path) -> None:
    file = place.with_name("days.csv")
    lines = ["date,air_min_f,air_max_f,rain_in", "2026-09-21,60,80,0.3", "2026-09-22,30,40,0"]
    lines += [f"2026-09-{day},60,80,{0.5 if day != 24 else 0}" for day in (23, 24, 25)]
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    found = plan(place, replace(given(place), forecast=file))
    (day,) = found["days"]
    assert day["day"] == "2026-09-24"
    assert any("by the day" in words for words in found["cautions"])


def test_half_a_day_of_rain_leaves_the_other_half(place: Path) -> None:
    wet = {day: range(24) for day in (21, 22, 23, 25)} | {24: range(7, 13)}
    asked = replace(given(place), forecast=forecast(place, wet))
    (day,) = plan(place, asked)["days"]
    ((opens, _),) = day["blocks"]
    (leg,) = day["legs"]
    assert opens == "2026-09-24T13:00"
    assert leg["starts"] >= opens


@pytest.mark.parametrize(
    ("truck", "binds"),
    [
        ("One,-84.01,33.0,400 lb,,Mon-Fri,8", "licence"),
        ("One,-84.01,33.0,50 gal,applicator,Mon-Fri,8", "tank"),
        ("One,-84.01,33.0,400 lb,applicator,Sat-Sun,8", "days"),
        ("One,-88.0,33.0,400 lb,applicator,Mon-Fri,8", "drive"),
    ],
)
def test_what_the_trucks_cannot_do_is_left_out_with_the_reason(
    place: Path, truck: str, binds: str
) -> None:
    found = plan(place, given(place, truck=truck))
    (left,) = found["left_out"]
    assert left["binds"] == binds
    assert found["days"] == []


def test_days_on_which_nobody_may_come_are_kept(place: Path) -> None:
    write(place, no_go="Mon-Wed; Fri; 07:00-12:00", contact="Ring the bell")
    found = plan(place)
    (day,) = found["days"]
    assert day["day"] == "2026-09-24"
    assert day["legs"][0]["starts"] >= "2026-09-24T12:00"
    (stop,) = found["stops"]
    assert (stop["contact"], stop["no_go"]) == ("Ring the bell", "Mon-Wed; Fri; 07:00-12:00")


def test_an_announced_day_is_kept_and_what_moves_is_told(place: Path) -> None:
    earlier = plan(place)
    (stop,) = earlier["stops"]
    stop["day"] = "2026-09-25"
    file = place.with_name("plan.json")
    file.write_text(json.dumps(earlier), encoding="utf-8")
    asked = replace(given(place), announced=file)
    again = plan(place, asked)
    assert again["moved"] == []
    assert again["stops"][0]["day"] == "2026-09-25"
    wet = replace(asked, forecast=forecast(place, {25: range(24)}))
    (moved,) = plan(place, wet)["moved"]
    assert moved["from"] == {"day": "2026-09-25", "truck": "One"}
    assert moved["to"]["day"] < "2026-09-25"


def test_roads_make_the_times_and_are_named(place: Path) -> None:
    """One road from the depot past the lawns; by it the way is longer than the estimate's."""
    file = place.with_name("roads.osm.pbf")
    writer = osmium.SimpleWriter(str(file), overwrite=True)
    for number in range(30):
        at = (-84.02 + number * 0.001, 33.0)
        writer.add_node(osmium.osm.mutable.Node(id=number + 1, location=at))
    nodes = list(range(1, 31))
    writer.add_way(osmium.osm.mutable.Way(id=1, nodes=nodes, tags={"highway": "residential"}))
    writer.close()
    found = plan(place, replace(given(place), roads=file))
    assert found["travel"] == {
        "basis": "Times by road, from roads.osm.pbf; traffic is not in them.",
        "is_estimated": False,
        "source": "roads.osm.pbf",
    }
    assert found["days"][0]["miles"] > 0.5


def test_a_period_turned_round_and_a_no_go_time_nobody_understands_are_refused(place: Path) -> None:
    with pytest.raises(InputFaultsError, match="no period"):
        spray_days(place, first=LAST, last=FIRST, given=given(place), effort=EFFORT)
    write(place, no_go="now and then")
    with pytest.raises(InputFaultsError, match="property Alder, no_go"):
        plan(place)


def test_a_second_pass_follows_its_first_by_the_interval_of_the_season(place: Path) -> None:
    """Three to six weeks (table window, rows of post_emergent_second_pass)."""
    columns = "name,active_ingredients,concentrations,formulation,rate"
    passes = "Passes,thiencarbazone,50 %,dispersible_granule,0.08 oz/1000 sq ft"
    table(place, "product", columns, passes)
    both = dict.fromkeys(("post_emergent_first_pass", "post_emergent_second_pass"), "Passes")
    asked = replace(given(place), uses=both, tasks=tuple(both))
    first, last = date(2026, 10, 5), date(2026, 11, 20)
    found = spray_days(place, first=first, last=last, given=asked, effort=EFFORT)
    done, again = sorted(found["stops"], key=lambda stop: str(stop["day"]))
    assert [done["task"], again["task"]] == list(both)
    days = [date.fromisoformat(stop["day"]) for stop in (done, again)]
    assert 21 <= (days[1] - days[0]).days <= 42
    assert again["follows"] == {"stop": done["stop"], "day": done["day"]}
    (told,) = found["second_passes"]
    assert (told["planned"], told["second"]) == (True, again["stop"])
    soon = spray_days(place, first=first, last=date(2026, 10, 9), given=asked, effort=EFFORT)
    assert [stop["task"] for stop in soon["stops"] if stop["day"]] == ["post_emergent_first_pass"]
    assert [one["planned"] for one in soon["second_passes"]] == [False]


def test_a_stop_is_moved_by_hand_and_told_with_its_cost(place: Path) -> None:
    ready = prepared(place, first=FIRST, last=LAST, given=given(place))
    now = searched_plan(ready, EFFORT)
    (stop,) = plan_told(ready, now, EFFORT)["stops"]
    other = "2026-09-24" if stop["day"] != "2026-09-24" else "2026-09-23"
    after, said = with_stop_moved(ready, now, stop["stop"], day=other, truck="One")
    assert said == {"possible": True, "why": [], "driving_min": 0.0}
    assert after is not None
    assert plan_told(ready, after, EFFORT)["stops"][0]["day"] == other
    never, said = with_stop_moved(ready, now, stop["stop"], day="2026-09-27", truck="One")
    assert never is None
    assert said["why"] == ["that truck does not work then"]
    with pytest.raises(InputFaultsError, match="no stop"):
        with_stop_moved(ready, now, "nobody", day=other, truck="One")
