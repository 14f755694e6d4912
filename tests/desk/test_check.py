"""A check of a whole place: go only with everything known, wind, hostile rows, large zones."""

import json
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from tests.desk.checking import GIVEN, PLAIN, checked, conditions, front, make_place
from tests.desk.recording import table
from tests.desk.test_bring_in import SOUTH, WEST, box, geojson
from turfmap.desk.bring_in import bring_in
from turfmap.desk.check import CheckAsked, check
from turfmap.desk.check_asked import read_conditions
from turfmap.desk.check_here import check_here
from turfmap.desk.here import Position
from turfmap.desk.protected import Overrides
from turfmap.foundations.errors import InputFaultsError

RANK = ("go", "wait", "no")


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a place of which everything is known; no test changes it."""
    return make_place(tmp_path_factory.mktemp("known"))


def test_everything_known_is_go_and_says_what_was_looked_at(place: Path) -> None:
    found = checked(place)
    (zone,) = found["zones"]
    assert zone["answer"] == "go"
    assert zone["treatable_m2"] > 0.0
    assert "licensed person decide" in found["last_word"]
    assert json.loads(json.dumps(found)) == found


@pytest.mark.parametrize("name", GIVEN)
def test_without_one_thing_given_it_is_never_go(place: Path, name: str) -> None:
    without: dict[str, str | None] = {name: None}
    zone = front(place, PLAIN, **without)
    assert zone["answer"] == "wait"
    assert zone["asked"]


def test_a_place_nobody_has_looked_at_holds_and_says_so(tmp_path: Path) -> None:
    """Not surveyed is unknown; so are questions that nobody asked."""
    zone = front(make_place(tmp_path, known=False))
    assert zone["answer"] == "wait"
    assert any("Not surveyed: unknown" in words for words in zone["asked"])
    assert any("overseeded" in words for words in zone["reasons"])


def test_an_active_ingredient_is_no_product_and_a_wider_setback_leaves_nothing(
    place: Path,
) -> None:
    asked = CheckAsked("Alder", "2,4-D", conditions())
    (zone,) = check(place, asked, overrides=PLAIN)["zones"]
    assert zone["answer"] == "wait"
    wide = front(place, Overrides({"pond": 300.0}))
    assert wide["answer"] == "no"
    assert any("Mill pond" in words for words in wide["reasons"])


def test_more_to_protect_or_a_wider_setback_never_gives_a_better_answer(tmp_path: Path) -> None:
    path = make_place(tmp_path)
    answers = [front(path, Overrides({"pond": wide_m}))["answer"] for wide_m in (0.0, 20.0, 80.0)]
    school = (box(4.5e-4, 0, 1e-4), {"name": "Day care", "kind": "school"})
    bring_in(path, geojson(tmp_path / "s.geojson", school), layer_name="sensitive_site")
    answers.append(front(path)["answer"])
    ranks = [RANK.index(answer) for answer in answers]
    assert ranks[:3] == sorted(ranks[:3])
    # The school lies on the lot: it is asked whether it was told.
    assert answers[-1] == "wait"


@pytest.fixture(scope="module")
def downwind(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the place with a label distance of 100 ft from ponds that holds downwind only."""
    path = make_place(tmp_path_factory.mktemp("downwind"))
    table(path, "product_setback", "product,category,distance_ft,downwind_only",
          "Clover spray,pond,100,yes")  # fmt: skip
    return path


def test_a_downwind_distance_is_kept_only_where_the_wind_carries_drops_from(
    downwind: Path,
) -> None:
    """The pond lies west of the lawn: wind from the east carries drops to it, from the west not."""
    found = {
        wind: front(downwind, wind=wind)["no_spray_m2"]
        for wind in ("6 mph E", "6 mph W", "6 mph variable")
    }
    assert found["6 mph W"] < found["6 mph E"] <= found["6 mph variable"] + 1e-6
    round_about = front(downwind, wind="6 mph W", arc="360")["no_spray_m2"]
    assert round_about == pytest.approx(found["6 mph variable"], rel=1e-12)
    narrow, wide = (
        front(downwind, wind="6 mph NE", arc=arc)["no_spray_m2"] for arc in ("23", "40")
    )
    assert narrow <= wide
    told = checked(downwind, wind="6 mph E")
    (pond,) = told["setbacks"]
    assert pond["downwind_only"]
    assert pond["all_round_m"] == pytest.approx(25 * 0.3048)
    assert "from E" in told["wind_words"]
    # What is kept all round stays when the wind blows away from the pond.
    kept = front(downwind, Overrides({"pond": 25 * 0.3048}))["no_spray_m2"]
    assert found["6 mph W"] == pytest.approx(kept)


def test_where_you_stand_makes_the_answer_stricter_never_better(place: Path) -> None:
    asked = CheckAsked(None, "Clover spray", conditions())

    def answer(east: float, accuracy_m: float) -> tuple[str, str]:
        spot = Position(WEST + east, SOUTH + 2e-4, accuracy_m)
        found = check_here(place, asked, spot, overrides=PLAIN)
        (zone,) = found["zones"]
        return found["positions"][0]["state"], zone["answer"]

    assert answer(3e-4, 3.0) == ("outside", "go")
    assert answer(9e-5, 1.0)[0] == "unsure"  # the margin of an edge of unknown origin is 3 m
    assert answer(1e-6, 0.0) == ("stop", "no")
    assert answer(1.5e-4, 0.0) == ("outside", "go")
    assert answer(1.5e-4, 9.0) == ("unsure", "wait")


HOSTILE = "</script><b>{0}{given}[red]' OR 1=1 --" + "x" * 400


def test_hostile_names_are_text_and_nothing_else(tmp_path: Path) -> None:
    path = make_place(tmp_path)
    beside = box(6.1e-4, 0, 5e-5)
    pond = (beside, {"name": HOSTILE, "kind": "pond"})
    bring_in(path, geojson(tmp_path / "p.geojson", pond), layer_name="water")
    lawn = (box(5e-4, 0, 1e-4), {"name": HOSTILE[:60], "kind": "turf", "species": "bermuda"})
    bring_in(path, geojson(tmp_path / "z.geojson", lawn), layer_name="zone")
    found = checked(path)
    assert {zone["zone"] for zone in found["zones"]} == {"Front", HOSTILE[:60]}
    assert any(one["name"] == HOSTILE for zone in found["zones"] for one in zone["causes"])


def test_a_zone_of_ten_megabytes_is_answered(tmp_path: Path) -> None:
    path = make_place(tmp_path)
    turn = np.linspace(0.0, 2.0 * np.pi, 248_001)
    radius = 3e-4 * (1.0 + 0.1 * np.sin(40.0 * turn))
    east, north = WEST + 4e-4 + radius * np.cos(turn), SOUTH + 9e-4 + radius * np.sin(turn)
    wide = shapely.Polygon(np.column_stack([east, north])[:-1])
    file = geojson(tmp_path / "wide.geojson", (wide, {"name": "Wide", "kind": "turf"}))
    assert file.file.stat().st_size > 10_000_000
    bring_in(path, file, layer_name="zone")
    start = time.monotonic()
    answers = {zone["zone"]: zone["answer"] for zone in checked(path)["zones"]}
    assert answers == {"Front": "go", "Wide": "wait"}  # its grass is not known
    assert time.monotonic() - start < 60.0


@pytest.mark.parametrize(
    "texts",
    [
        {"wind": "6"},
        {"wind": "-3 mph"},
        {"wind": "6 mph UP"},
        {"wind": "900 mph"},
        {"air": "nanF"},
        {"air": "71"},
        {"air": "400F"},
        {"droplet": "huge"},
        {"on": "tomorrow"},
        {"on": "2026-10-03"},
        {"dry_hours": "-1"},
        {"dry_hours": None, "rain": "none until 2026-10-23T11:00"},
        {"dry_hours": None, "rain": "maybe"},
        {"nozzle_height": "tall"},
        {"nozzle_height": "0in"},
        {"nozzle_height": "300 ft"},
        {"arc": "361"},
        {"arc": "0"},
        {"wind": "9 mph NW", "gust": "3 mph"},
    ],
)
def test_what_is_not_understood_is_refused_and_never_guessed(texts: dict[str, Any]) -> None:
    with pytest.raises(InputFaultsError):
        conditions(**texts)


def test_what_is_given_is_read_in_its_units() -> None:
    found = read_conditions(
        {
            "on": "2026-10-03T08:00",
            "wind": "3 m/s WSW",
            "air": "20 C",
            "rain": "none until 2026-10-03T14:30",
            "nozzle_height": "50cm",
        }
    )
    # One mile an hour is 0.44704 m/s, exactly (NIST SP 811, from memory).
    assert found.wind_mph == pytest.approx(3 / 0.44704, rel=1e-6)
    assert found.wind_from_deg == 247.5
    assert found.air_f == pytest.approx(68.0)
    assert found.dry_h == 6.5
    assert found.nozzle_height_in == pytest.approx(50 / 2.54)


def test_a_forecast_of_hours_fills_only_what_nobody_said(place: Path, tmp_path: Path) -> None:
    file = tmp_path / "hours.csv"
    rain = [0.0] * 5 + [0.2] * 43
    lines = [
        f"2026-10-{24 + (9 + n) // 24}T{(9 + n) % 24:02d}:00,72,{rain[n]},14" for n in range(48)
    ]
    file.write_text("time,air_f,rain_in,wind_mph\n" + "\n".join(lines) + "\n", encoding="utf-8")

    def found(**texts: str | None) -> dict[str, Any]:
        asked = CheckAsked("Alder", "Clover spray", conditions(**texts), forecast_file=file)
        return check(place, asked, overrides=PLAIN)

    told = found(wind=None, air=None, dry_hours=None)
    # Five dry hours from 09:00 are three from 11:00; 14 mph is more than the label's 10.
    assert told["given"]["dry_h"] == 3.0
    assert told["given"]["wind_mph"] == pytest.approx(14.0, abs=0.01)
    assert told["zones"][0]["answer"] == "wait"
    assert any("not measured on the spot" in words for words in told["cautions"])
    assert found()["given"]["wind_mph"] == 6.0
