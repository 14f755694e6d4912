"""The truck file: every fault with its line, nothing guessed."""

from pathlib import Path

import pytest

from turfmap.foundations.errors import InputFaultsError
from turfmap.store.plan_file import read_announced
from turfmap.store.trucks import read_trucks


def file(tmp_path: Path, text: str, name: str = "trucks.csv") -> Path:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def test_a_truck_is_read_and_what_is_not_said_is_none(tmp_path: Path) -> None:
    text = "truck,longitude,latitude,tanks,shift_h\nOne,-83.1,33.5,200 gal,9\n"
    (row,) = read_trucks(file(tmp_path, text))
    assert (row["truck"], row["longitude"], row["shift_h"]) == ("One", -83.1, 9.0)
    assert row["licences"] is None


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("truck,longitude,latitude\nOne,-83,95\n", "latitude is 95"),
        ("truck,longitude,latitude\nOne,,33\n", "longitude is missing"),
        ("truck,longitude,latitude\nOne,-83,33\nOne,-83,33\n", "two trucks have that name"),
        ("truck,longitude,latitude,colour\nOne,-83,33,red\n", "colour"),
        ("truck,longitude,latitude\n", "0 trucks"),
        (f"truck,longitude,latitude\n{'x' * 200_000},-83,33\n", "no CSV"),
    ],
)
def test_faults_are_told(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(InputFaultsError, match=said):
        read_trucks(file(tmp_path, text))


def test_an_earlier_plan_is_read_back_and_anything_else_refused(tmp_path: Path) -> None:
    served = '{"stop": "a", "day": "2026-09-14", "truck": "One"}'
    kept = f'{{"stops": [{served}, {{"stop": "b", "day": null}}]}}'
    found = read_announced(file(tmp_path, kept, "plan.json"))
    assert {name: (day.isoformat(), truck) for name, (day, truck) in found.items()} == {
        "a": ("2026-09-14", "One")
    }
    for text in ("[]", "{", '{"stops": [{"stop": "a"}]}', '{"stops": [{"stop":"a","day":"soon"}]}'):
        with pytest.raises(InputFaultsError):
            read_announced(file(tmp_path, text, "plan.json"))
    with pytest.raises(InputFaultsError):
        read_announced(tmp_path / "none.json")
