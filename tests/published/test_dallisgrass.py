"""Dallisgrass: start in September, not in October.

HortScience 51(6):754 (2016), Lubbock, Texas, 2010 to 2012: thiencarbazone + foramsulfuron +
halosulfuron on bermudagrass. Percent control 10 and 37 weeks after, as printed; "at most" stands
for the paper's "<=".
"""

from datetime import date

import pytest

from tests.season.lawns import answer, bermuda, judged
from turfmap.foundations.definitions import table

AT_MOST, IS = True, False
# treatment: (10 weeks, at most?), (37 weeks, at most?)
PRINTED = {
    "low_twice": ((65, AT_MOST), (92, IS)),
    "high_september": ((65, AT_MOST), (94, IS)),
    "high_twice": ((65, AT_MOST), (97, IS)),
    "october_only": ((65, AT_MOST), (55, AT_MOST)),
    "foramsulfuron_twice": ((35, IS), (48, IS)),
    "foramsulfuron_and_mix": ((63, IS), (93, IS)),
}


@pytest.mark.parametrize("trial", PRINTED)
def test_the_table_holds_what_is_printed(trial: str) -> None:
    row = table("trial").by("trial")[trial]
    shown = tuple(
        (row[f"control_{weeks}wk_pct"], row[f"control_{weeks}wk_at_most"]) for weeks in (10, 37)
    )
    assert shown == PRINTED[trial]
    assert row["source"] == "H9"


def test_a_september_start_beats_october_alone_by_the_next_spring() -> None:
    rows = [row for row in table("trial").rows if row["first_month"] is not None]
    september = [row["control_37wk_pct"] for row in rows if row["first_month"] == 9]
    october = [row["control_37wk_pct"] for row in rows if row["first_month"] == 10]
    assert min(september) - max(october) >= 37


def test_the_reader_is_shown_it_beside_the_task() -> None:
    task = judged(bermuda(), date(2026, 10, 5), answers=[answer("none")])
    lines = task["post_emergent_first_pass"]["reasons"]
    (line,) = (line for line in lines if line.startswith("Trials on dallisgrass"))
    assert "September 92 to 97 percent" in line
    assert "October only at most 55" in line
