"""Which distance applies: the largest, of the rows written for this work and place."""

from dataclasses import replace

import pytest

from turfmap.foundations.definitions import table
from turfmap.ground.setbacks import Work, setbacks, unmatched_places

FOOT_M = 0.3048
TABLE = table("setback")


def distance_ft(category: str, work: Work) -> float:
    return setbacks([category], TABLE, work, {})[category].distance_m / FOOT_M


def test_the_product_asks_for_more_than_the_working_distance() -> None:
    """Atrazine: 200 ft round lakes, 66 ft where run-off enters streams.

    Source: California DPR letter ENF 2000-041 quoting the label (lakes); University of Illinois,
    60 ways, practice 57 (streams). Agricultural labels; second hand.
    """
    assert distance_ft("lake", Work(actives=("atrazine",))) == pytest.approx(200)
    assert distance_ft("stream", Work(actives=("atrazine",))) == pytest.approx(66)
    assert distance_ft("lake", Work()) < 200


def test_local_fertiliser_law_applies_only_to_fertiliser_there() -> None:
    """Maryland Agriculture 8-803.5: 15 ft, 10 ft with a deflector or drop spreader. Read.

    The general working distance is larger and wins in the shipped table, so it is taken out here.
    """
    law = [row for row in TABLE.rows if row["category"] == "stream" and row["place"] == "MD"]
    only_law = type(TABLE)(**{**TABLE.__dict__, "rows": tuple(law)})

    def found_ft(work: Work) -> float | None:
        found = setbacks(["stream"], only_law, work, {}).get("stream")
        return None if found is None else found.distance_m / FOOT_M

    here = Work(kinds=("fertilise",), places=("MD",))
    assert found_ft(here) == pytest.approx(15)
    assert found_ft(replace(here, method="deflector")) == pytest.approx(10)
    assert found_ft(Work(kinds=("spray",), places=("MD",))) is None
    assert found_ft(Work(kinds=("fertilise",), places=("GA",))) is None


def test_a_distance_for_this_run_replaces_the_table() -> None:
    found = setbacks(["well", "pond"], TABLE, Work(actives=("atrazine",)), {"pond": 1.0})
    assert found["pond"].distance_m == 1.0
    assert found["well"].distance_m > 1.0
    assert found["well"].unverified


def test_every_protected_kind_has_a_distance_whatever_the_work() -> None:
    kinds = [row["kind"] for name in ("water_kind", "sensitive_kind") for row in table(name).rows]
    assert set(setbacks(kinds, TABLE, Work(), {})) == set(kinds)


def test_reductions_add_and_stop_at_all_of_it() -> None:
    """Percentage points of the full distance, capped at 100.

    Source: US EPA ecological mitigation menu, 30 April 2025, as state pages on drift explain it
    (Minnesota Department of Agriculture, drift mitigation). The percentages are invented here.
    """

    def kept_ft(*reductions_pct: float) -> float:
        label = TABLE.rows[0] | {
            "category": "lake",
            "active_ingredient": "Own",
            "distance_ft": 200.0,
            "reductions_pct": reductions_pct,
        }
        found = setbacks(["lake"], TABLE.overridden([label]), Work(actives=("Own",)), {})["lake"]
        assert found.asked_m == pytest.approx(200 * FOOT_M)
        return found.distance_m / FOOT_M

    assert kept_ft(25.0, 30.0) == pytest.approx(200 * 0.45)
    assert kept_ft(80.0, 70.0) == distance_ft("lake", Work())  # the general distance stays


def test_rules_of_a_place_apply_there_however_it_is_written_and_where_nobody_knows() -> None:
    row = next(row for row in TABLE.rows if row["category"] == "well" and not row["place"])
    table = TABLE.overridden([row | {"place": "GA", "distance_ft": 100.0}])

    def found_ft(work: Work) -> float:
        return setbacks(["well"], table, work, {})["well"].distance_m / FOOT_M

    assert found_ft(Work(places=("ga ",))) == pytest.approx(100)
    assert found_ft(Work(places=("SC",))) == pytest.approx(50)
    assert found_ft(Work(places=("SC",), place_unknown=True)) == pytest.approx(100)
    assert unmatched_places(table, Work(places=("SC",))) == ["GA"]
    assert unmatched_places(table, Work(places=("GA",))) == []
