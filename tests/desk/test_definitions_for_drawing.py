"""The forms of the editor are made of the layers: every drop-down, in words."""

import json
from datetime import date
from pathlib import Path

import pytest

from tests.desk.drawing import drawn_place
from turfmap.desk.definitions_for_drawing import ASKED_FIRST, definitions
from turfmap.desk.new import new
from turfmap.foundations.definitions import map_layer, map_layers, table

DAY = date(2026, 9, 24)


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return drawn_place(tmp_path_factory.mktemp("drawn") / "oak_end.gpkg")


def test_every_drawn_layer_and_column_is_told(place: Path) -> None:
    layers = definitions(place, as_of=DAY)["layers"]
    editable = {name for name, layer in map_layers().items() if layer.geometry}
    assert layers.keys() == editable - {"weather_station", "overlay"} == ASKED_FIRST.keys()
    for name, told in layers.items():
        columns = map_layer(name).columns
        assert [column["name"] for column in told["columns"]] == list(columns)
        assert set(told["tag_first"]) <= columns.keys()
        assert {n for n, column in columns.items() if column.required} <= set(told["tag_first"])
        for column in told["columns"]:
            declared = columns[column["name"]]
            assert (column["minimum"], column["unit"]) == (declared.minimum, declared.unit)
            values = [choice["value"] for choice in column["choices"] or []]
            assert tuple(values) == declared.one_of
    assert layers["gate"]["geometry"] == "point"
    assert layers["zone"]["geometry"] == "polygon"
    assert layers["water"]["geometry"] == "any"


def test_choices_have_the_words_of_their_tables(place: Path) -> None:
    (kind,) = [
        column
        for column in definitions(place, as_of=DAY)["layers"]["water"]["columns"]
        if column["name"] == "edge_known_by"
    ]
    words = {row["edge_known_by"]: row["words"] for row in table("edge_known_by").rows}
    assert {choice["value"]: choice["title"] for choice in kind["choices"]} == words


def test_states_and_place(place: Path, tmp_path: Path) -> None:
    found = definitions(place, as_of=DAY)
    assert [one["id"] for one in found["states"]] == [
        row["state"] for row in sorted(table("state").rows, key=lambda row: int(row["order"]))
    ]
    assert len({one["code"] for one in found["states"]}) == len(found["states"])
    west, south, east, north = found["place"]["bounds"]
    assert west < -84.05 < east and south < 33.55 < north
    assert found["place"]["title"] == "Oak end: 2 properties"
    assert found["place"]["as_of"] == "2026-09-24"
    json.dumps(found, allow_nan=False)
    empty = tmp_path / "empty.gpkg"
    new(empty)
    assert definitions(empty, as_of=DAY)["place"]["bounds"] is None
    assert definitions(empty, as_of=DAY)["place"]["id"] != found["place"]["id"]
