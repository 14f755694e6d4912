"""The benchmark of spray days on a small size: it prints what it promises, and breaks no rule."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.bench.days import Report, regions_part

SCRIPT = Path(__file__).with_name("days.py")


def test_every_ratio_has_its_figures_and_no_rule_is_broken() -> None:
    command = [sys.executable, str(SCRIPT), "--size", "40", "--seeds", "1", "--iterations", "150"]
    printed = json.loads(subprocess.run(command, check=True, stdout=subprocess.PIPE).stdout)
    ratios, raw = printed["ratios"], printed["raw"]
    assert set(ratios) == {
        "driving_per_stop_over_area_40",
        "driving_per_stop_over_due_40",
        "missed_over_area_40",
        "driving_of_a_sixth_of_the_search",
        "moved_after_rain_over_cold",
        "driving_after_rain_over_cold",
        "driving_of_estimates_over_roads",
    }
    assert set(raw) >= set(ratios)
    assert printed["checked"]["broken"] == 0
    assert printed["checked"]["stops"] > 40
    assert raw["late_of_estimates"]["this"] == 0
    # Even a short search beats both ways that people plan by.
    assert ratios["driving_per_stop_over_area_40"] < 1.0
    assert ratios["driving_per_stop_over_due_40"] < 1.0


def test_regions_are_held_against_one_model(monkeypatch: pytest.MonkeyPatch) -> None:
    rows: list[tuple[Any, ...]] = []

    def told(module: str, *arguments: str) -> dict[str, float]:
        rows.append((module, *arguments))
        half = 0.5 if arguments[1] == "regions" else 1.0
        return {"cpu_s": 7.0, "broken": 0, "per_stop_min": half, "peak_mb": half, "missed": 1.0}

    monkeypatch.setattr("tests.bench.days.measured", told)
    report = Report()
    regions_part(report, 5_000, range(1, 3), 10)
    assert (
        report.ratios["regions_driving_over_one"]
        == report.ratios["regions_peak_memory_over_one"]
        == 0.5
    )
    assert report.ratios["regions_missed_beyond_one_share"] == 0.0
    # The one model gets the CPU seconds that the regions took.
    assert [row[-1] for row in rows if row[2] == "one"] == ["7.0", "7.0"]
