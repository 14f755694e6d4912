"""The benchmark itself: its ways agree on a small region, and it prints what it promises."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from tests.bench.region import made

SCRIPT = Path(__file__).with_name("ground.py")
PROPERTIES = 60


@pytest.fixture(scope="module")
def printed() -> Any:
    command = [sys.executable, str(SCRIPT), "--size", str(PROPERTIES), "--repeat", "1"]
    return json.loads(subprocess.run(command, check=True, stdout=subprocess.PIPE).stdout)


def test_the_ways_find_the_same_ground(printed: Any) -> None:
    agreement = printed["agreement"]
    assert agreement["agree"], agreement
    assert agreement["edit_identical"]
    assert agreement["two_threads_identical"]
    assert agreement["product_change_identical"]


def test_every_ratio_stands_beside_its_figures(printed: Any) -> None:
    assert printed["size"] == PROPERTIES
    assert set(printed["ratios"]) == set(printed["raw"])
    for name in set(printed["ratios"]) - {"growth_exponent"}:
        raw = printed["raw"][name]
        assert printed["ratios"][name] == raw["this"] / raw["over"]
    assert set(printed["ratios"]) >= {
        "overlay_over_core_cpu",
        "overlay_over_core_memory",
        "core_over_bare_geos",
        "growth_exponent",
        "memory_kb_per_property",
        "edit_over_geopandas",
        "product_change_over_full",
        "two_threads_speedup",
    }


def test_the_region_is_as_described_and_the_same_every_time() -> None:
    region, again = made(300), made(300)
    assert shapely.equals_identical(region.zones, again.zones).all()
    shapes = np.concatenate([region.zones, region.obstacles])
    assert shapely.is_valid(shapes).all()
    assert shapes.size / 300 == pytest.approx(5.58, rel=0.03)
    corners = shapely.get_num_coordinates(shapes)
    assert corners.mean() == pytest.approx(60, rel=0.05)
    assert corners.min() >= 7
    assert corners.max() <= 201  # the first corner is written twice
