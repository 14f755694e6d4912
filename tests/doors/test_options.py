"""Options that several commands share."""

import pytest

from turfmap.doors.cli.options import overrides
from turfmap.foundations.errors import InputFaultsError


def test_every_fault_of_the_options_is_told_at_once() -> None:
    given = {
        "setbacks": ["pond=near", "nowhere=5ft"],
        "margin": "wide",
        "reductions": ["hood=most"],
        "work_kind": None,
        "method": None,
    }
    with pytest.raises(InputFaultsError) as told:
        overrides(given)
    said = " ".join(str(fault) for fault in told.value.faults)
    assert len(told.value.faults) == 4
    for words in ("--setback pond", "'nowhere'", "--margin", "--reduction hood"):
        assert words in said
