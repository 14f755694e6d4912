"""Regions: every stop and block in one of them, work in proportion to trucks, seams that mend."""

import numpy as np
import pytest

from tests.days.plan.days import random_problem
from turfmap.days.plan.regions import regions, seams

MODULE = "turfmap.days.plan.regions"


def test_few_stops_or_few_trucks_are_one_region() -> None:
    given = random_problem(1, stops=40, trucks=4)
    (whole,) = regions(given)
    assert len(whole.stops) == 40
    assert len(whole.blocks) == len(given.blocks)


@pytest.mark.parametrize("trucks", [4, 5, 8, 10])
def test_regions_share_out_stops_and_trucks(trucks: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(f"{MODULE}.STOPS_OF_A_REGION", 50)
    given = random_problem(2, stops=400, trucks=trucks, days=2)
    parts = regions(given)
    assert len(parts) == trucks // 2
    stops = [stop for part in parts for stop in part.stops]
    blocks = [block for part in parts for block in part.blocks]
    assert sorted(stops) == list(range(400))
    assert sorted(blocks) == list(range(len(given.blocks)))
    work = np.array([given.service_s[list(part.stops)].sum() for part in parts])
    mine = np.array([len(part.blocks) // 2 for part in parts])
    assert (mine >= 2).all()
    per_truck = work / mine
    assert per_truck.max() / per_truck.min() < 1.5


def test_seams_join_neighbours_and_each_pair_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(f"{MODULE}.STOPS_OF_A_REGION", 50)
    given = random_problem(4, stops=300, trucks=8)
    parts = regions(given)
    pairs = seams(given, parts)
    assert len(set(pairs)) == len(pairs)
    assert all(one < other for one, other in pairs)
    assert {number for pair in pairs for number in pair} == set(range(len(parts)))
