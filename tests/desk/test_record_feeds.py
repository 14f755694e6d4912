"""What is recorded counts at once: in the sums of a label's year, and in what is due next."""

import shutil
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.desk.recording import SAID, table
from turfmap.days.load_sheet import Equipment
from turfmap.desk.due import due
from turfmap.desk.mix import Asked, mix
from turfmap.desk.protected import Overrides
from turfmap.desk.record import record
from turfmap.desk.record_correction import correct
from turfmap.foundations.errors import InputFaultsError
from turfmap.foundations.units import SQUARE_METRES_PER_ACRE

SPRING: dict[str, Any] = SAID | {"task": "spring_pre_emergent", "zones": ["Back"]}


@pytest.fixture
def place(recording_once: Path, tmp_path: Path) -> Path:
    path = Path(shutil.copy(recording_once, tmp_path))
    columns = "name,active_ingredients,registration_number,concentrations,formulation,rate"
    limit = "annual_max,label_year"
    grain = "Grain,prodiamine,0-3,0.5 %,granular,100 lb/acre,0.9 lb/acre,calendar_year"
    table(path, "product", f"{columns},{limit}", grain)
    return path


def load(path: Path) -> dict[str, Any]:
    asked = Asked("Grain", ("Alder",), ("Back",), day=date(2026, 9, 24))
    return mix(path, asked, equipment=Equipment(), overrides=Overrides({}))


def back(found: dict[str, Any]) -> dict[str, Any]:
    (zone,) = [zone for one in found["loads"] for zone in one["zones"] if zone["zone"] == "Back"]
    return dict(zone)


def test_a_record_counts_in_the_year_and_a_cancelled_one_does_not(place: Path) -> None:
    """100 lb/acre of a 0.5 % product is 0.5 lb of active an acre: twice that is above 0.9."""
    zone = back(load(place))
    acres = zone["treatable_m2"] / SQUARE_METRES_PER_ACRE
    spread = SPRING | {"product": "Grain", "date": "2026-03-03", "amount": f"{100 * acres!r} lb"}
    (made,) = record(place, spread)["records"]
    with pytest.raises(InputFaultsError, match=r"prodiamine: .*1 .*above the 0\.9 allowed"):
        load(place)
    (half,) = correct(place, made["record"], {"amount": f"{70 * acres} lb", "reason": "weighed"})[
        "records"
    ]
    (active,) = back(load(place))["actives"]
    assert active["before_lb_per_acre"] == pytest.approx(0.35, rel=1e-9)
    assert active["total_lb_per_acre"] == pytest.approx(0.85, rel=1e-9)
    correct(place, half["record"], {"cancelled": "yes", "reason": "never went out"})
    (active,) = back(load(place))["actives"]
    assert active["before_lb_per_acre"] == 0.0


def opening(path: Path, task: str) -> date:
    (zone,) = [one for one in due(path, as_of=date(2026, 4, 10))["zones"] if one["zone"] == "Back"]
    (opens,) = [one["opens"] for one in zone["tasks"] if one["task"] == task]
    return date.fromisoformat(opens)


def test_the_second_pass_follows_the_day_on_record(place: Path) -> None:
    (made,) = record(place, SPRING | {"date": "2026-03-03"})["records"]
    first = opening(place, "spring_pre_emergent_second")
    correct(place, made["record"], {"date": "2026-03-08", "reason": "wrong day"})
    assert opening(place, "spring_pre_emergent_second") - first == timedelta(days=5)
