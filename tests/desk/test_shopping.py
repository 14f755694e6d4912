"""The shopping list: what the open tasks need on ground that may be treated, less stock."""

import shutil
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.desk.recording import SAID, table
from turfmap.days.quantities import amount
from turfmap.desk.area import area
from turfmap.desk.protected import Overrides
from turfmap.desk.record import record
from turfmap.desk.shopping import Store, shopping
from turfmap.foundations.errors import InputFaultsError

FIRST, LAST = date(2026, 9, 20), date(2026, 10, 10)
COLUMNS = "name,active_ingredients,concentrations,formulation,rate,pack"
GRAIN = "Grain,prodiamine,0.2 %,granular,3 lb/1000 sq ft,50 lb"
USE = {"autumn_pre_emergent": "Grain"}


@pytest.fixture
def place(recording_once: Path, tmp_path: Path) -> Path:
    """Return the place of the record tests, with a granular product in its book."""
    path = Path(shutil.copy(recording_once, tmp_path))
    table(path, "product", COLUMNS, GRAIN)
    return path


def listed(path: Path, **stock: str) -> dict[str, Any]:
    have = {name: amount(text, record="") for name, text in stock.items()}
    return shopping(path, first=FIRST, last=LAST, store=Store(USE, have))


def test_the_list_is_treatable_ground_times_rate_less_stock_in_whole_bags(place: Path) -> None:
    found = listed(place)
    (line,) = [one for one in found["lines"] if one["product"] == "Grain"]
    ground = area(place, property_name=None, product="Grain", overrides=Overrides({}))["zones"]
    needed_lb = sum(zone["treatable_sqft"] for zone in ground if zone["kind"] == "turf") * 3 / 1000
    assert line["zones"] == 2
    assert line["exact"]["lb"] == pytest.approx(needed_lb, rel=1e-9)
    bags = -(-needed_lb // 50)
    assert (line["purchase"]["packs"], line["purchase"]["lb"]) == (bags, pytest.approx(50 * bags))
    (less,) = listed(place, Grain="60 lb")["lines"]
    assert less["purchase"]["packs"] == -(-(needed_lb - 60) // 50)
    (enough,) = listed(place, Grain="1000 lb")["lines"]
    assert (enough["purchase"]["packs"], enough["left_over"]["lb"]) == (0, 0)


def test_what_is_recorded_is_not_bought_again(place: Path) -> None:
    record(place, SAID | {"zones": ["Front"], "product": "prodiamine"}, unfinished=True)
    found = shopping(place, first=date(2026, 9, 24), last=LAST, store=Store(USE))
    assert [line["zones"] for line in found["lines"]] == [1]  # the back lawn alone


def test_where_several_products_serve_the_user_chooses(place: Path) -> None:
    found = shopping(place, first=FIRST, last=LAST, store=Store())
    (one,) = [one for one in found["choose"] if one["task"] == "autumn_pre_emergent"]
    assert one == {"task": "autumn_pre_emergent", "products": ["Barrier", "Grain"], "zones": 2}
    assert found["lines"] == []


def test_a_task_that_waits_for_an_answer_is_told_and_not_bought_for(place: Path) -> None:
    answer = ("property,zone,question,answer,date", "Alder,Back,overseeding,planned,2026-10-20")
    table(place, "client_answer", *answer)
    found = listed(place)
    assert [line["zones"] for line in found["lines"]] == [1]
    assert ("Back", "autumn_pre_emergent") in {
        (one["zone"], one["task"]) for one in found["not_counted"]
    }


@pytest.mark.parametrize(
    ("store", "words"),
    [
        (Store({"mow": "Grain"}), "no task 'mow'"),
        (Store({"aeration": "Sand"}), "no product 'Sand'"),
        (Store(USE, {"Grain": amount("3 gal", record="")}), "a volume and a weight"),
    ],
)
def test_bad_wishes_get_a_sentence(place: Path, store: Store, words: str) -> None:
    with pytest.raises(InputFaultsError, match=words):
        shopping(place, first=FIRST, last=LAST, store=store)
    with pytest.raises(InputFaultsError, match="turn the period round"):
        shopping(place, first=LAST, last=FIRST, store=Store())
