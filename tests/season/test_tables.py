"""What the reference tables promise the code, and the code the tables."""

from datetime import date
from typing import Any

import numpy as np
import pytest

from turfmap.foundations.definitions import Table, table, tables
from turfmap.season import edges, holds
from turfmap.season.edges import Evidence
from turfmap.season.known_weather import KnownWeather
from turfmap.season.rule_faults import HOLD_NEEDS, WINDOW_NEEDS, faults_of
from turfmap.season.rules import Rules, listed, shipped_rules
from turfmap.season.weather import weather_until
from turfmap.season.window_rows import grouped
from turfmap.season.windows import opening

TASKS = table("task").by("task")
WINDOWS = grouped(table("window").rows)
NEW_YEAR = date(2026, 1, 1)
NO_EVIDENCE = Evidence(
    KnownWeather(weather_until([], as_of=NEW_YEAR), np.array([NEW_YEAR.toordinal()])), {}
)


@pytest.mark.parametrize("found", tables().values(), ids=lambda found: found.name)
def test_every_row_cites_known_sources_and_says_how_it_was_read(found: Table) -> None:
    known = {row["id"] for row in table("source").rows}
    for row in found.rows:
        assert row["how_read"], row
        cited = listed(row["source"])
        assert cited, row
        assert set(cited) <= known, row


@pytest.mark.parametrize("found", tables().values(), ids=lambda found: found.name)
def test_no_two_rows_have_the_same_key(found: Table) -> None:
    keys = [tuple(row[name] for name in found.key) for row in found.rows]
    assert len(set(keys)) == len(keys)


def test_own_rules_are_never_called_read() -> None:
    for found in tables().values():
        for row in found.rows:
            if row["source"] == "common practice":
                assert row["how_read"] == "memory", (found.name, row)


def test_every_basis_has_a_function_and_every_function_a_basis() -> None:
    assert set(edges.BASES) == set(table("window").columns["basis"].one_of)
    assert set(holds.BASES) == set(table("hold").columns["basis"].one_of)


def test_every_task_has_a_window_and_a_code_of_its_own() -> None:
    assert set(WINDOWS) == set(TASKS)
    codes = [row["code"] for row in TASKS.values()]
    assert len(set(codes)) == len(codes)
    assert all(len(code) == 2 for code in codes)


def test_every_window_opens_and_closes() -> None:
    for task in WINDOWS.values():
        for window in task:
            assert window.opens, window.name
            assert window.closes, window.name


def test_a_window_cannot_close_before_it_opens() -> None:
    """An edge that weather moves stays between its own limits; the two must not cross."""
    for task in WINDOWS.values():
        for window in task:
            if window.follows:
                continue  # moves with a visit; the later edge wins
            calendar = opening(window, NO_EVIDENCE, 2026).at(0)
            start = max(_limit(row, "latest") for row in window.opens)
            end = min(_limit(row, "earliest") for row in window.closes)
            if calendar.opens.year == calendar.closes.year:
                assert start <= end, (window.task, window.name)


def _limit(row: dict[str, Any], name: str) -> str:
    return str(row[name] or row["on"])


@pytest.mark.parametrize("name", sorted(set(Rules.__dataclass_fields__) & set(tables())))
def test_shipped_rows_can_be_judged_by(name: str) -> None:
    """By the same rules as a user's own rows."""
    rules = shipped_rules()
    rows = table(name).rows
    assert [problem for problem in faults_of(name, rows, rules) if problem] == []


def test_every_basis_says_what_it_needs() -> None:
    assert set(WINDOW_NEEDS) == set(edges.BASES)
    assert set(HOLD_NEEDS) == set(holds.BASES)


def test_every_herbicide_task_names_what_serves_it_and_is_held_by_the_grass() -> None:
    rules = shipped_rules()
    for task in (row["task"] for row in TASKS.values() if row["chemical"]):
        assert rules.choices_of[task], task
        bases = {row["basis"] for row in rules.holds_of[task]}
        assert {"species_unknown", "species_not_tolerant"} <= bases, task
        asked = [row["question"] for row in rules.holds_of[task] if row["basis"] == "not_asked"]
        assert "overseeding" in asked, task


def test_overseeding_allows_exactly_the_agreed_answers() -> None:
    answers = table("question").by("question")["overseeding"]["answers"]
    assert answers.split(";") == ["not_asked", "none", "planned", "done"]


def test_states_are_told_apart_without_colour() -> None:
    rows = table("state").rows
    drawn = [row for row in rows if row["state"] not in {"later", "none"}]
    assert len({row["pattern"] for row in drawn}) == len(drawn)
    # Later and nothing are both plain: one dark, one almost white.
    later, nothing = (table("state").by("state")[name]["colour"] for name in ("later", "none"))
    assert contrast(later, nothing) > 3.0


def test_dark_ink_reads_on_every_state() -> None:
    """WCAG 2.2, 1.4.3 asks 4.5 for text and 1.4.11 asks 3 for graphics."""
    for row in table("state").rows:
        assert contrast(row["colour"], "#000000") >= 4.5, row["state"]


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of WCAG 2.2."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def luminance(colour: str) -> float:
    """Return the relative luminance of WCAG 2.2."""
    channels = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))
