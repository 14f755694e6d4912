"""Declarations: what breaks its own rules is refused, and values are read as declared."""

from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from turfmap.foundations import definitions
from turfmap.foundations.checks import as_text, checked_rows
from turfmap.foundations.definitions import DefinitionError, map_layer, map_layers, table, tables

LAYER = """
title = "A"
plain = "B."
{fact}
[columns.name]
type = "{type}"
{more}
"""


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"fact": 'colour = "red"'}, "unknown fact"),
        ({"more": 'colour = "red"'}, "unknown fact"),
        ({"fact": 'geometry = "round"'}, "geometry is one of"),
        ({"fact": 'key = ["nobody"]'}, "key names no column"),
        ({"type": "number"}, "needs its unit"),
        ({"type": "letter"}, "type is one of"),
    ],
)
def test_a_broken_declaration_is_refused(
    tmp_path: Path, changes: dict[str, str], words: str
) -> None:
    path = tmp_path / "thing.toml"
    path.write_text(LAYER.format(**({"fact": "", "type": "text", "more": ""} | changes)))
    with pytest.raises(DefinitionError, match=words):
        definitions._layer(path)


def test_everything_that_ships_reads() -> None:
    assert {"property", "zone", "water", "sensitive_site", "obstacle"} <= map_layers().keys()
    users_own = {"bed_plant", "rate_card", "own_cost"}  # only what a user brings in
    assert {name for name, rows in tables().items() if not rows.rows} == users_own


def test_the_values_that_others_rely_on_are_there() -> None:
    """The outside contract: kinds that other programs' files use."""
    kinds = {
        "zone_kind": {"turf", "bed", "woods", "water", "hard"},
        "water_kind": {"pond", "lake", "stream", "ditch", "wetland", "drain_inlet", "well"},
        "sensitive_kind": {"school", "playground", "hives", "kitchen_garden"}
        | {"neighbour_request", "pet_area"},
    }
    for name, values in kinds.items():
        assert values <= set(table(name).by("kind"))
    answers = table("question").by("question")["overseeding"]["answers"].split(";")
    assert answers == ["not_asked", "none", "planned", "done"]


def test_own_rows_stand_over_shipped_ones_of_the_same_key() -> None:
    shipped = table("setback")
    pond = next(row for row in shipped.rows if row["category"] == "pond")
    own = pond | {"distance_ft": 99.0}
    merged = shipped.overridden([own])
    assert len(merged.rows) == len(shipped.rows)
    assert own in merged.rows
    assert pond not in merged.rows


def test_values_are_read_as_declared_and_every_fault_is_told() -> None:
    layer = map_layer("zone")
    raw: list[dict[str, object]] = [
        {"name": " Front ", "kind": "turf", "sun_hours": "6.5", "irrigated": "yes"},
        {"kind": "lawn", "sun_hours": "six", "irrigated": "maybe", "position_margin_m": -1},
        {"name": "x" * 3000, "kind": "turf", "sun_hours": float("nan")},
    ]
    rows, faults = checked_rows(raw, layer, file="f", records=["one", "two", "three"])
    assert (rows[0]["name"], rows[0]["sun_hours"], rows[0]["irrigated"]) == ("Front", 6.5, True)
    assert [len(found) for found in faults] == [0, 5, 1]
    assert rows[2]["sun_hours"] is None


def test_odd_texts_of_frames_and_spreadsheets_are_read_as_meant() -> None:
    assert as_text("Pine\u00a0Row\u2009East\u200b") == "Pine Row East"
    assert as_text(pd.NaT) == ""
    day = definitions.Column("date", "date")
    for text in ("2026-09-24", "2026-09-24T00:00:00", "2026-09-24 00:00:00"):
        assert definitions.parsed(text, day) == date(2026, 9, 24)
    with pytest.raises(ValueError, match="isoformat"):
        definitions.parsed("2026-09-24T07:00:00", day)


@pytest.mark.parametrize("text", ["1e999", "nan", "2.5"])
def test_what_is_no_whole_number_is_a_fault(text: str) -> None:
    with pytest.raises(ValueError, match="not a whole number"):
        definitions.parsed(text, definitions.Column("rank", "whole", unit="1"))


@pytest.mark.parametrize("text", ["9223372036854775808", "-1e19", "1e300"])
def test_a_whole_number_fits_what_the_file_can_hold(text: str) -> None:
    """SQLite keeps whole numbers in 64 bits."""
    column = definitions.Column("rank", "whole", unit="1")
    assert definitions.parsed("-9223372036854774784", column) == -(2**63) + 1024
    with pytest.raises(ValueError, match="more than 64 bits hold"):
        definitions.parsed(text, column)
