"""Instances of the literature, planned through our own model of days, trucks and blocks.

The files and where they come from are in ``tests/published/routing``. They are read here, by a few
lines of our own, into stops and blocks: nothing of the solver's reader is used.
"""

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from turfmap.days.plan.checker import checked
from turfmap.days.plan.filling import Ready
from turfmap.days.plan.problem import DAY_S, Block, Closed, Prices, Problem, Stop, Travel, Whole
from turfmap.days.plan.rules_of_thumb import first_plan
from turfmap.days.plan.search import Effort, Progress, searched
from turfmap.days.plan.tours import Call, Plan, Tour, plan_of, timed
from turfmap.days.plan.weighing import driving_s

FOLDER = Path(__file__).parent / "routing"
DAY = date(2026, 9, 14)
# Every stop is worth more than any way to it, and a truck costs nothing.
PRICES = Prices(truck_day=0, missed={2: 1_000_000}, can_wait=1.0, moved=0)
# Counted in steps and not in seconds, so that a busy machine changes nothing; these take less than
# ten seconds of one processor.
STEPS = 12_000


def sections(file: Path) -> dict[str, list[list[str]]]:
    """Return the header under its keys, and the rows of every section under its name."""
    found: dict[str, list[list[str]]] = {}
    name = ""
    for line in file.read_text("utf-8").splitlines():
        words = line.split()
        if ":" in line:
            key, _, value = line.partition(":")
            found[key.strip()] = [[value.strip()]]
        elif len(words) == 1 and words[0].endswith("_SECTION"):
            name = words[0]
            found[name] = []
        elif words and words[0] != "EOF":
            found[name].append(words)
    return found


def numbers(rows: list[list[str]]) -> "np.ndarray[tuple[int, ...], np.dtype[np.float64]]":
    return np.array(rows, dtype=np.float64)


def instance(name: str, *, trucks: int, scale: int, rounds: bool) -> Problem:
    """Return an instance as one day with so many trucks; lengths are `scale` to a unit."""
    read = sections(FOLDER / name)
    metres = lengths(read, scale, rounds=rounds)
    count = len(metres)
    takes = numbers(read.get("SERVICE_TIME_SECTION", [[str(n + 1), "0"] for n in range(count)]))
    service = (takes[:, 1] * scale).astype(int)
    if "SERVICE_TIME" in read:
        service[1:] = int(read["SERVICE_TIME"][0][0]) * scale
    windows = np.tile([0, DAY_S], (count, 1))
    if "TIME_WINDOW_SECTION" in read:
        windows = (numbers(read["TIME_WINDOW_SECTION"])[:, 1:] * scale).astype(int)
    demand = numbers(read["DEMAND_SECTION"])[:, 1]
    holds = float(read["CAPACITY"][0][0])
    stops = [
        Stop(
            f"client {n}",
            n,
            int(service[n]),
            DAY,
            DAY,
            # Windows of the literature are of the beginning of the work, ours of all of it.
            closed=(Closed(0, int(windows[n, 0])), Closed(int(windows[n, 1] + service[n]), DAY_S)),
            amounts={"mix": float(demand[n])},
        )
        for n in range(1, count)
    ]
    opens, closes = (int(edge) for edge in windows[0])
    block = Block("", DAY, 0, opens, closes, opens, closes, closes - opens, {"mix": holds})
    blocks = [replace(block, truck=f"truck {n}", most_refills=0) for n in range(trucks)]
    xy = numbers(read["NODE_COORD_SECTION"])[:, 1:]
    travel = Travel(metres, metres, xy)
    return Problem(DAY, DAY, tuple(stops), tuple(blocks), travel, PRICES)


def lengths(read: dict[str, list[list[str]]], scale: int, *, rounds: bool) -> Whole:
    """Return the lengths as the instance means them: rounded, or cut off after one decimal."""
    if "EDGE_WEIGHT_SECTION" in read:
        return numbers(read["EDGE_WEIGHT_SECTION"]).astype(np.int64)
    xy = numbers(read["NODE_COORD_SECTION"])[:, 1:]
    apart = np.hypot(*(xy[:, None] - xy[None]).transpose(2, 0, 1)) * scale
    whole: Whole = (np.rint(apart) if rounds else np.trunc(apart + 1e-9)).astype(np.int64)
    return whole


def solution(problem: Problem, name: str) -> Plan:
    """Return a published solution as a plan."""
    routes = [
        [int(word) for word in line.partition(":")[2].split()]
        for line in (FOLDER / name).read_text("utf-8").splitlines()
        if line.startswith("Route")
    ]
    runs = Ready(problem).runs
    tours = [
        Tour(number, tuple(Call(client - 1, *runs[client - 1][0]) for client in route))
        for number, route in enumerate(routes)
    ]
    return plan_of(tours)


def broken(problem: Problem, plan: Plan) -> list[str]:
    return [one.problem for one in checked(problem, [timed(problem, t) for t in plan.tours])]


@pytest.mark.parametrize(
    ("name", "trucks", "scale", "rounds", "best"),
    [
        ("E-n22-k4.txt", 4, 1, True, 375),  # "Optimal value: 375", in the file
        ("RC208.vrp", 25, 10, False, 7_761),  # "Cost 776.1", in RC208.sol; in tenths
        ("OkSmall.txt", 3, 1, True, 9_155),  # asserted in tests/test_Model.py of the same sources
    ],
)
def test_our_model_finds_the_best_known_cost(
    name: str, trucks: int, scale: int, rounds: bool, best: int
) -> None:
    problem = instance(name, trucks=trucks, scale=scale, rounds=rounds)
    ready = Ready(problem)
    there = [False]

    def look(now: Progress) -> None:
        there[0] = round(now.driving_min * 60.0) <= best and now.served == len(problem.stops)

    effort = Effort(STEPS, 1, on_best=look, stopped=lambda: there[0])
    plan = searched(ready, first_plan(ready, seed=1), effort)
    assert driving_s(problem, plan) == best
    assert len(plan.served) == len(problem.stops)
    assert broken(problem, plan) == []


def test_our_evaluation_reproduces_a_published_cost() -> None:
    """``RC208.sol``: four routes, cost 776.1."""
    problem = instance("RC208.vrp", trucks=25, scale=10, rounds=False)
    plan = solution(problem, "RC208.sol")
    assert len(plan.served) == len(problem.stops)
    assert driving_s(problem, plan) == 7_761
    assert broken(problem, plan) == []
