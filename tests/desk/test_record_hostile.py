"""Records that cannot be: one sentence each, and nothing written."""

import shutil
from pathlib import Path
from typing import Any

import pytest

from tests.desk.recording import SAID, rows
from turfmap.desk.record import record, record_from_file
from turfmap.desk.record_asked import read_asked
from turfmap.foundations.errors import InputFaultsError


@pytest.fixture
def place(recording_once: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(recording_once, tmp_path))


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"property": "Nobody"}, "no property 'Nobody'"),
        ({"zones": ["Moon"]}, "no zone 'Moon'"),
        ({"zones": "Front", "product": "=cmd()"}, "no product or active ingredient '=cmd\\(\\)'"),
        ({"amount": "-3 gal"}, "not more than 0"),
        ({"amount": "0 gal"}, "not more than 0"),
        ({"amount": "1000000 gal"}, "at most 100,000"),
        ({"amount": "90000 gal"}, "absurd"),
        ({"amount": "3 parsec"}, "is not understood"),
        ({"amount": "9**9**9 gal"}, "is not understood"),
        ({"amount": "inf gal"}, "is not understood"),
        ({"amount": 3}, "is not understood"),
        ({"area": "100 acre"}, "more than its zones have"),
        ({"area": "-5 sqft"}, "not more than 0"),
        ({"end": "08:10"}, "not after it began"),
        ({"start": "25:10"}, "not a time"),
        ({"start": "8.10"}, "not a time"),
        ({"date": "2026-02-30"}, "date is '2026-02-30'"),
        ({"date": "0001-01-01"}, "not a day of work"),
        ({"task": "mow"}, "task is 'mow'"),
        ({"wind": "900 mph N"}, "not between 0 and 50"),
        ({"wind": "6 mph Q"}, "wind_from is 'Q'"),
        ({"air": "700F"}, "not between -60 and 60"),
        ({"by": "x" * 3000}, "longer than 2,000"),
        ({"note": {"a": 1}}, "note is not a plain value"),
        ({"zones": [1]}, "zones is not a list of names"),
        ({"zones": {"a": 1}}, "zones is not a list of names"),
        ({"colour": "green"}, "'colour' is not a fact of a record"),
        ({"corrects": "abcdef", "reason": "x"}, "no record 'abcdef' to correct"),
        ({"cancelled": "yes", "reason": "x"}, "cancels no record"),
        ({"id": "../../x"}, "is no id"),
    ],
)
def test_bad_records_get_one_sentence_and_nothing_is_written(
    place: Path, said: dict[str, Any], words: str
) -> None:
    with pytest.raises(InputFaultsError, match=words) as error:
        record(place, SAID | said)
    assert len(error.value.faults) == 1
    assert rows(place) == []


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b" " * 10_000_000, "more than 4,194,304"),
        (b"[" * 200_000, "nested too deep|not JSON"),
        (b"[" * 10 + b"]" * 10, "nested too deep"),
        (b'{"records": 3}', "no list of records"),
        (b"[]", "0 records"),
        (b"[1]", "it is no record"),
        (b"[{}" * 3, "not JSON"),
        (b"\xff\xfe[]", "not JSON in UTF-8"),
        (b'[{"amount": NaN}]', "not JSON"),
        (b'[{"amount": 1' + b"0" * 9000 + b"}]", "not JSON"),
    ],
)
def test_hostile_files_get_one_sentence(place: Path, content: bytes, words: str) -> None:
    file = place.parent / "visits.json"
    file.write_bytes(content)
    with pytest.raises(InputFaultsError, match=words) as error:
        record_from_file(place, file)
    assert len(error.value.faults) == 1
    assert rows(place) == []


@pytest.mark.parametrize(
    ("name", "text"),
    [("amount", "2,5 gal"), ("area", "0,3 acre"), ("wind", "6,5 mph NW"), ("air", "21,5C")],
)
def test_a_decimal_comma_is_refused(name: str, text: str) -> None:
    """Read as thousands, it would multiply what is on record by ten."""
    _, faults = read_asked({name: text}, file="f", where="r")
    (fault,) = [fault for fault in faults if "is not a number" in fault.problem]
    assert "write a decimal point" in fault.mend
