"""Ways to a wrong "outside" or a wrong go on a whole place: winds, clocks, tracks, other ground."""

from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
import shapely

from tests.desk.checking import PLAIN, checked, conditions, front, make_place
from tests.desk.recording import table
from tests.desk.test_bring_in import SOUTH, WEST, box, geojson
from turfmap.days.conditions import Conditions
from turfmap.desk.bring_in import bring_in
from turfmap.desk.check import CheckAsked, wind_of
from turfmap.desk.check_here import check_here
from turfmap.desk.check_weather import with_forecast
from turfmap.desk.here import Position, gaps, here
from turfmap.foundations.errors import InputFaultsError

MIDDLE = SOUTH + 2e-4
METRE = 1.0 / 93_500.0  # a metre east, in degrees, hereabouts


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a place of which everything is known; no test changes it."""
    return make_place(tmp_path_factory.mktemp("traps"))


def stands(path: Path, east: float, **about: Any) -> dict[str, Any]:
    spot = Position(WEST + east, MIDDLE, 0.0)
    (one,) = here(path, [spot], product="Clover spray", overrides=PLAIN, **about)["positions"]
    return dict(one)


@pytest.mark.parametrize(
    ("wind", "inversion"),
    [("2 mph NW", None), ("0 mph NW", None), ("6 mph variable", None), ("6 mph NW", "suspected")],
)
def test_air_that_keeps_no_way_keeps_every_distance_all_round(
    wind: str, inversion: str | None
) -> None:
    """Under 3 mph (working figure, common practice) or in layers, drops may go anywhere."""
    assert wind_of(conditions(wind=wind, inversion=inversion)) is None
    assert wind_of(conditions(wind="3 mph NW")) is not None


def test_beside_the_property_is_never_outside_no_spray(tmp_path: Path) -> None:
    """A pond 170 m off is not looked at for this property, and its shore is not cleared."""
    path = make_place(tmp_path)
    far = WEST + 7e-4 + 185.0 * METRE
    pond = shapely.box(far, SOUTH, far + 2e-4, SOUTH + 4e-4)
    feature = (pond, {"name": "Neighbour's pond", "kind": "pond"})
    bring_in(path, geojson(tmp_path / "far.geojson", feature), layer_name="water")
    beside = stands(path, far - WEST - 6.0 * METRE - 35.0 * METRE, property_name="Alder")
    assert beside["state"] == "unsure"
    assert "outside this property" in beside["words"]
    assert stands(path, 5e-4)["state"] == "outside"


def test_a_label_of_1000_ft_reaches_from_beyond_the_property(tmp_path: Path) -> None:
    path = make_place(tmp_path)
    far = WEST + 7e-4 + 250.0 * METRE
    pond = shapely.box(far, SOUTH, far + 2e-4, SOUTH + 4e-4)
    feature = (pond, {"name": "Far pond", "kind": "pond"})
    bring_in(path, geojson(tmp_path / "far.geojson", feature), layer_name="water")
    assert stands(path, 6.5e-4)["state"] == "outside"
    rows = "product,category,distance_ft,downwind_only"
    table(path, "product_setback", rows, "Clover spray,pond,1000,")
    assert stands(path, 6.5e-4)["state"] == "stop"
    assert front(path)["answer"] == "no"


def test_on_the_edge_itself_it_is_unsure(place: Path) -> None:
    """25 ft and 3 m from the pond, to a tenth of a millimetre: never outside, however exact."""
    found = [stands(place, -1e-5 + (10.62 + away) * METRE)["state"] for away in (-0.1, 0.0, 0.1)]
    assert found == ["unsure"] * 3


@pytest.mark.parametrize("accuracy_m", [-5.0, float("inf"), float("nan"), None, 5_000.0])
def test_an_accuracy_that_is_none_is_never_outside(place: Path, accuracy_m: float | None) -> None:
    spot = Position(WEST + 3e-4, MIDDLE, accuracy_m)
    (one,) = here(place, [spot], product="Clover spray", overrides=PLAIN)["positions"]
    assert one["state"] == "unsure"


@pytest.mark.parametrize("texts", [{"inversion": "maybe"}, {"method": "plane"}])
def test_a_word_that_nobody_knows_is_refused(texts: dict[str, str | None]) -> None:
    with pytest.raises(InputFaultsError):
        conditions(**texts)


def test_a_time_by_a_clock_of_elsewhere_is_refused(place: Path) -> None:
    """11:00 by UTC is 07:00 here; visits and notices go by the clock of the place."""
    with pytest.raises(InputFaultsError) as told:
        checked(place, on="2026-10-24T11:00Z")
    assert "does not have" in str(told.value)
    assert front(place, on="2026-10-24T11:00-04:00")["answer"] == "go"


def test_dry_hours_of_a_forecast_count_from_the_minute_of_the_work(tmp_path: Path) -> None:
    file = tmp_path / "hours.csv"
    lines = [f"2026-10-24T{9 + n:02d}:00,72,{0.0 if n < 5 else 0.2},6" for n in range(12)]
    file.write_text("time,air_f,rain_in,wind_mph\n" + "\n".join(lines) + "\n", encoding="utf-8")
    dry_h = [
        with_forecast(Conditions(on=datetime(2026, 10, 24, 10, minute)), file)[0].dry_h
        for minute in (0, 45)
    ]
    assert dry_h == [4.0, 3.25]


def test_zones_drawn_over_each_other_give_the_strictest_answer(tmp_path: Path) -> None:
    path = make_place(tmp_path)
    over = (box(2e-4, 0), {"name": "Over", "kind": "turf", "species": "centipede"})
    bring_in(path, geojson(tmp_path / "o.geojson", over), layer_name="zone")
    bare = (box(3e-4, 0), {"name": "Bare", "kind": "turf"})
    bring_in(path, geojson(tmp_path / "b.geojson", bare), layer_name="zone")
    asked = CheckAsked(None, "Clover spray", conditions())
    spot = Position(WEST + 3.5e-4, MIDDLE, 0.0)
    found = check_here(path, asked, spot, overrides=PLAIN)
    (zone,) = found["zones"]
    assert zone["answer"] != "go"
    assert "drawn over each other" in zone["mind"][0]
    assert set(found["positions"][0]["zones_too"]) | {found["positions"][0]["zone"]} == {
        "Front",
        "Over",
        "Bare",
    }


def test_signs_of_both_states_are_told_where_a_property_lies_in_two(tmp_path: Path) -> None:
    path = make_place(tmp_path, state="MD; NJ; Clay County")
    found = checked(path)
    assert sum(line.startswith("Posting") for line in found["posting"]) == 2


def test_a_pond_without_a_name_and_without_edge_knowledge_counts(tmp_path: Path) -> None:
    """An edge of unknown origin has a margin of 3 m (our own)."""
    path = make_place(tmp_path)
    pond = (box(6.1e-4, 0), {"kind": "pond"})
    bring_in(path, geojson(tmp_path / "p.geojson", pond), layer_name="water")
    near = stands(path, 6e-4)
    assert near["state"] == "stop"
    assert near["margin_m"] == 3.0


def test_gaps_in_a_track_are_told() -> None:
    steps = [0.0, 4.0, 8.0, 60.0, 64.0]
    (said,) = gaps([(WEST + step * METRE, MIDDLE) for step in steps])
    assert "leaves ground out" in said
    assert gaps([(WEST + step * METRE, MIDDLE) for step in steps[:3]]) == []
    assert gaps([(WEST, MIDDLE)]) == []
