"""Recording work: whole or not at all, never changed, on ground that may be treated."""

import json
import shutil
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import shapely

from tests.desk.recording import LAWN, SAID, rows, table
from tests.desk.test_bring_in import box, geojson
from turfmap.desk.area import area
from turfmap.desk.bring_in import bring_in
from turfmap.desk.due import due
from turfmap.desk.protected import Overrides
from turfmap.desk.record import record, record_from_file
from turfmap.desk.record_correction import correct
from turfmap.desk.record_list import records
from turfmap.foundations.errors import InputFaultsError
from turfmap.foundations.units import SQUARE_METRES_PER_SQUARE_FOOT


@pytest.fixture
def place(recording_once: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(recording_once, tmp_path))


def state(path: Path, zone: str, task: str = "autumn_pre_emergent") -> str:
    (found,) = [one for one in due(path, as_of=date(2026, 9, 24))["zones"] if one["zone"] == zone]
    return str(next(one["state"] for one in found["tasks"] if one["task"] == task))


def written(path: Path, *said: dict[str, Any]) -> Path:
    file = path.parent / "visits.json"
    file.write_text(json.dumps({"records": said}), encoding="utf-8")
    return file


def test_the_area_is_what_may_be_treated_and_amounts_are_shared_by_it(place: Path) -> None:
    (made,) = record(place, SAID)["records"]
    measured = area(place, property_name="Alder", product="Barrier", overrides=Overrides({}))
    treatable = {zone["zone"]: zone["treatable_m2"] for zone in measured["zones"]}
    assert treatable["Front"] < 0.9 * treatable["Back"]  # the pond takes its share
    front, back = rows(place)
    assert [front["area_treated_m2"], back["area_treated_m2"]] == [
        treatable["Front"],
        treatable["Back"],
    ]
    assert front["amount"] + back["amount"] == pytest.approx(3.5, rel=1e-15)
    assert front["amount"] / back["amount"] == pytest.approx(
        treatable["Front"] / treatable["Back"], rel=1e-12
    )
    assert made["missing"] == []
    assert made["area_found_by"] == "treatable"
    # NIST SP 811: 1 mph = 0.44704 m/s; 71 degF = 21.67 degC (from memory).
    assert front["wind_m_per_s"] == pytest.approx(6 * 0.44704)
    assert front["air_c"] == pytest.approx(21.6667, abs=1e-4)
    assert (front["customer"], front["customer_address"]) == ("Client 7", "1 Lane")
    assert front["registration_number"] == "0-1"


def test_a_zone_that_may_not_be_treated_is_left_out(place: Path) -> None:
    """The bank lies wholly within the pond's setback; unless somebody says it was treated."""
    bank = (box(-2e-5, 1.6e-4, 2e-5), {"name": "Bank", "property": "Alder", **LAWN})
    bring_in(place, geojson(place.parent / "bank.geojson", bank), layer_name="zone")
    (made,) = record(place, SAID | {"zones": ["Bank", "Back"]})["records"]
    assert [zone["zone"] for zone in made["zones"]] == ["Back"]
    assert "Left out, as nothing of it may be treated: Bank." in made["notes"]
    alone = SAID | {"zones": ["Bank"], "amount": "1 fl oz"}
    with pytest.raises(InputFaultsError, match="nothing of these zones may be treated"):
        record(place, alone)
    found = record(place, alone | {"area": "20 sqft"})
    assert [line for line in found["cautions"] if "no-spray ground may have been" in line]


def test_without_a_zone_all_that_the_task_is_for_is_meant(place: Path) -> None:
    record(place, {key: value for key, value in SAID.items() if key != "zones"})
    assert [row["zone"] for row in rows(place)] == ["Front", "Back"]


def test_a_given_area_is_kept_and_too_much_is_told(place: Path) -> None:
    found = record(place, SAID | {"area": "12,000 sqft"})
    assert sum(row["area_treated_m2"] for row in rows(place)) == pytest.approx(
        12_000 * SQUARE_METRES_PER_SQUARE_FOOT, rel=1e-12
    )
    assert not [line for line in found["cautions"] if "more than may be treated" in line]
    gross_m2 = sum(shapely.box(0, 0, 37.3, 44.3).area for _ in range(2))
    over = record(place, SAID | {"area": f"{gross_m2} m2"})
    assert [line for line in over["cautions"] if "more than may be treated" in line]


def test_what_was_drawn_is_counted_less_what_may_not_be_treated(place: Path) -> None:
    """The whole front lawn and the pond, drawn: the same ground as the planned one."""
    file = place.parent / "drawn.geojson"
    geojson(file, (box(-1e-4, -1e-4, 6e-4), {}))
    found = record(place, SAID, drawn_file=file)
    record(place, SAID | {"zones": ["Front"]})
    drawn, planned = rows(place)[0], rows(place)[-1]
    assert drawn["zone"] == "Front"
    assert drawn["area_found_by"] == "drawn"
    assert drawn["area_treated_m2"] == pytest.approx(planned["area_treated_m2"], rel=1e-7)
    assert [line for line in found["cautions"] if "of what was drawn is not counted" in line]
    half = geojson(file, (shapely.box(-83.9998, 33.0, -83.9996, 33.0004), {})).file
    record(place, SAID | {"zones": ["Front"]}, drawn_file=half)
    # East half of the lawn, away from the pond: half of the square of 4e-4 degrees.
    gross_m2 = area(place, property_name="Alder", product=None, overrides=Overrides({}))["zones"]
    assert rows(place)[-1]["area_treated_m2"] == pytest.approx(
        gross_m2[0]["gross_m2"] / 2, rel=1e-6
    )
    name = record(place, SAID)["records"][0]["record"]
    correct(place, name, {"reason": "only half was reached"}, drawn_file=half)
    assert (rows(place)[-1]["zone"], rows(place)[-1]["area_found_by"]) == ("Front", "drawn")
    with pytest.raises(InputFaultsError, match="both drawn and given"):
        record(place, SAID | {"area": "100 sqft"}, drawn_file=file)
    geojson(file, (shapely.Point(-84, 33), {}))
    with pytest.raises(InputFaultsError, match="holds no area"):
        record(place, SAID, drawn_file=file)


def test_what_is_recorded_is_done_and_what_is_cancelled_is_not(place: Path) -> None:
    assert state(place, "Front") == "due"
    (made,) = record(place, SAID | {"zones": ["Front"]})["records"]
    assert (state(place, "Front"), state(place, "Back")) == ("done", "due")
    correct(place, made["record"], {"cancelled": "yes", "reason": "rained off"})
    assert state(place, "Front") == "due"


def test_a_correction_keeps_what_is_not_said_again(place: Path) -> None:
    (made,) = record(place, SAID)["records"]
    before = rows(place)
    (fixed,) = correct(place, made["record"][:8], {"amount": "3 gal", "reason": "misread"})[
        "records"
    ]
    after = rows(place)
    assert after[:2] == before
    assert sum(row["amount"] for row in after[2:]) == pytest.approx(3.0, rel=1e-12)
    changed = {"fid", "id", "amount", "record", "corrects", "reason", "recorded_at"}
    for old, new_row in zip(before, after[2:], strict=True):
        differing = {name for name in old if old[name] != new_row[name] and old[name] == old[name]}
        assert differing <= changed | {"geometry"}
    assert [one["status"] for one in records(place)["records"]] == ["corrected", "stands"]
    with pytest.raises(InputFaultsError, match="corrected already"):
        correct(place, made["record"], {"amount": "2 gal", "reason": "again"})
    correct(place, fixed["record"], {"zones": ["Back"], "reason": "front was left out"})
    assert rows(place)[-1]["zone"] == "Back"
    assert rows(place)[-1]["amount"] == pytest.approx(3.0, rel=1e-12)


def test_another_product_brings_its_own_number(place: Path) -> None:
    table(place, "product", "name,active_ingredients,registration_number", "Other,dithiopyr,0-9")
    (made,) = record(place, SAID)["records"]
    correct(place, made["record"], {"product": "Other", "reason": "wrong can"})
    assert [row["registration_number"] for row in rows(place)] == ["0-1", "0-1", "0-9", "0-9"]


def test_every_missing_element_is_told_at_once_unless_it_is_unfinished(place: Path) -> None:
    few = {key: SAID[key] for key in ("property", "zones", "task", "date")}
    with pytest.raises(InputFaultsError) as error:
        record(place, few)
    asked = [str(fault) for fault in error.value.faults]
    assert len(asked) == 7
    for words in (
        "product",
        "registration",
        "amount",
        "size of the area",
        "name of the app",
        "time",
    ):
        assert any(words in line for line in asked), words
    assert rows(place) == []
    (kept,) = record(place, few, unfinished=True)["records"]
    assert len(kept["missing"]) == 7
    # 14 days to write it up, 30 for the customer's copy (from memory), 2 years to keep it
    # (7 CFR 110.3).
    days = {one["deadline"]: one["date"] for one in kept["deadlines"]}
    assert days == {"write_up": "2026-10-04", "customer_copy": "2026-10-20", "keep": "2028-09-20"}


def test_work_without_chemicals_needs_only_where_what_and_when(place: Path) -> None:
    (made,) = record(place, {"property": "Alder", "task": "aeration", "date": "2026-09-20"})[
        "records"
    ]
    assert (made["missing"], made["posting"], made["deadlines"]) == ([], [], [])


def test_records_brought_home_twice_are_known_again(place: Path) -> None:
    file = written(place, SAID | {"id": "phone-1"}, SAID | {"id": "phone-2", "start": "07:00"})
    assert len(record_from_file(place, file)["records"]) == 2
    again = record_from_file(place, file)
    assert (again["records"], again["already"]) == ([], ["phone-1", "phone-2"])
    assert len(rows(place)) == 4
    other = written(place, SAID | {"id": "phone-1", "amount": "9 gal"})
    with pytest.raises(InputFaultsError, match=r"says otherwise \(amount\)"):
        record_from_file(place, other)


def test_one_bad_record_of_a_file_keeps_all_out(place: Path) -> None:
    file = written(place, SAID | {"id": "good"}, SAID, SAID | {"id": "good"}, {"id": "bad1"})
    with pytest.raises(InputFaultsError) as error:
        record_from_file(place, file)
    said = str(error.value)
    for words in ("record 2: it has no id", "record 4: property is missing", "record 4: date"):
        assert words in said
    assert rows(place) == []


def test_two_terminals_at_once_lose_nothing(place: Path) -> None:
    """Each either waits for the other or says that it could not write: here both are kept."""
    starts = [f"0{hour}:00" for hour in range(8)]
    with ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda start: record(place, SAID | {"start": start}), starts))
    assert sorted(row["start_time"] for row in rows(place)) == sorted(starts * 2)


def test_of_two_corrections_at_once_one_wins(place: Path) -> None:
    (made,) = record(place, SAID)["records"]

    def attempt(amount: str) -> str:
        try:
            correct(place, made["record"], {"amount": amount, "reason": "misread"})
        except InputFaultsError as error:
            return str(error)
        return ""

    with ThreadPoolExecutor(2) as pool:
        said = sorted(pool.map(attempt, ["1 gal", "2 gal"]))
    assert said[0] == ""
    assert "corrected already" in said[1]
    assert len(rows(place)) == 4


def test_a_re_entry_interval_becomes_a_time(place: Path) -> None:
    lines = ("name,active_ingredients,registration_number,reentry_h", "Slow,prodiamine,0-2,12")
    table(place, "product", *lines)
    (made,) = record(place, SAID | {"product": "Slow", "end": "20:30"})["records"]
    assert "until 08:30 on 21 Sep 2026" in made["posting"][-1]
