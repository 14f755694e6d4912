"""How plans of spray days compare with plans as people make them, judged by the checker.

``python tests/bench/days.py [--size N] [--seeds K] [--iterations I] [--parts NAME,…]`` prints one
JSON object: ``ratios`` holds every ratio, ``raw`` both figures behind it, and ``checked`` how many
rules the checker found broken.

Parts: ``plans`` (sizes 60, 300 and 1,000 against grouping by area and first due first served, both
the best of eight rules of thumb in hindsight), ``sooner`` (300 stops, a sixth of the search against
all of it), ``rain`` (a day is lost: what moves), ``estimated`` (planned on estimated times, driven
by road) and ``regions`` (5,000 stops by regions against one model, each in a process of its own at
equal CPU seconds). Without names, ``regions`` runs only if its size is asked for: --size 5000.
"""

import argparse
import json
import statistics
import sys
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.bench.measuring import measured, peak_mb
from tests.bench.spray_town import Town, town
from turfmap.days.plan.checker import checked
from turfmap.days.plan.filling import Ready
from turfmap.days.plan.problem import HOUR_S, Problem
from turfmap.days.plan.regions import planned, regions
from turfmap.days.plan.rules_of_thumb import areas_of, by_area, by_due_day, first_plan
from turfmap.days.plan.search import Effort, searched
from turfmap.days.plan.tours import Plan, timed
from turfmap.days.plan.weighing import driving_s, moved_stops
from turfmap.days.travel import EstimatedTimes

SIZES = (60, 300, 1_000)
ITERATIONS = {60: 3_000, 300: 6_000, 1_000: 12_000}
AREA_SIZES = (4, 6, 8, 12, 16, 24, 32, 48)
TIES_H = (0, 6, 12, 24, 36, 48, 72, 96)
LARGE = 5_000
# The estimate is made with the factor of the table circuity; roads are uneven about a smaller one.
DEVIATION = 0.1


@dataclass(frozen=True)
class Judged:
    """A plan by what counts: driving [min], stops served and missed, rules broken, CPU seconds."""

    driving_min: float
    served: int
    missed: int
    truck_days: int
    broken: int
    cpu_s: float

    @property
    def per_stop_min(self) -> float:
        """Driving per stop served [min]."""
        return self.driving_min / max(self.served, 1)


def judged(problem: Problem, plan: Plan, cpu_s: float = 0.0) -> Judged:
    """Look a plan over and weigh it."""
    tours = [timed(problem, tour) for tour in plan.tours]
    served = len(plan.served)
    return Judged(
        driving_s(problem, plan) / 60.0,
        served,
        len(problem.stops) - served,
        len({(problem.blocks[t.block].day, problem.blocks[t.block].truck) for t in plan.tours}),
        len(checked(problem, tours)),
        cpu_s,
    )


def best_of(problem: Problem, plans: Iterable[Plan]) -> Judged:
    """Return the plan that misses fewest, of equal ones the one that drives least: in hindsight."""
    found = [judged(problem, plan) for plan in plans]
    return min(found, key=lambda one: (one.missed, one.driving_min))


def by_thumb(problem: Problem, seed: int) -> dict[str, Judged]:
    """Return the best of eight plans by area, and of eight by due day."""
    ready = Ready(problem)
    counts = areas_of(len(problem.stops), AREA_SIZES)
    areas = (by_area(ready, areas=count, seed=seed) for count in counts)
    dues = (by_due_day(ready, tie_s=hours * HOUR_S) for hours in TIES_H)
    return {"area": best_of(problem, areas), "due": best_of(problem, dues)}


def by_search(problem: Problem, iterations: int, seed: int) -> tuple[Plan, float]:
    """Return the plan of a search, and the CPU seconds that it took."""
    begun = time.process_time()
    plan = planned(problem, Effort(iterations, seed))
    return plan, time.process_time() - begun


class Report:
    """Ratios with their figures, medians over seeds, and how many rules were broken."""

    def __init__(self) -> None:
        self.ratios: dict[str, float] = {}
        self.raw: dict[str, dict[str, Any]] = {}
        self.broken = 0
        self.stops = 0

    def add(self, name: str, this: Iterable[float], over: Iterable[float]) -> None:
        """Add the median of the ratios of two figures, seed by seed."""
        these, those = list(this), list(over)
        ratios = [
            a / b if b else (1.0 if a == b else float("inf"))
            for a, b in zip(these, those, strict=True)
        ]
        self.ratios[name] = statistics.median(ratios)
        self.raw[name] = {"this": these, "over": those}

    def look(self, plans: Iterable[Judged]) -> None:
        """Count broken rules."""
        for one in plans:
            self.broken += one.broken
            self.stops += one.served


def plans_part(report: Report, sizes: Iterable[int], seeds: range, iterations: int | None) -> None:
    """Compare searches with rules of thumb."""
    for size in sizes:
        ours, thumbs = [], []
        steps = iterations or ITERATIONS.get(size, 10_000)
        for seed in seeds:
            problem = town(size, seed)
            ours.append(judged(problem, *by_search(problem, steps, seed)))
            thumbs.append(by_thumb(problem, seed))
        report.look([*ours, *(one for both in thumbs for one in both.values())])
        for name in ("area", "due"):
            over = [both[name] for both in thumbs]
            report.add(
                f"driving_per_stop_over_{name}_{size}",
                [one.per_stop_min for one in ours],
                [one.per_stop_min for one in over],
            )
            report.raw[f"missed_{name}_{size}"] = {
                "this": [one.missed for one in ours],
                "over": [one.missed for one in over],
            }
        missed, theirs = (sum(report.raw[f"missed_area_{size}"][key]) for key in ("this", "over"))
        report.ratios[f"missed_over_area_{size}"] = missed / theirs if theirs else float(missed)
        report.raw[f"missed_over_area_{size}"] = {"this": missed, "over": theirs}
        report.raw[f"cpu_s_{size}"] = {"this": [one.cpu_s for one in ours]}
        report.raw[f"truck_days_{size}"] = {
            "this": [one.truck_days for one in ours],
            "area": [both["area"].truck_days for both in thumbs],
        }


def sooner_part(report: Report, size: int, seeds: range, iterations: int) -> None:
    """Compare a sixth of a search with all of it."""
    short, long = [], []
    for seed in seeds:
        problem = town(size, seed)
        short.append(judged(problem, *by_search(problem, max(1, iterations // 6), seed)))
        long.append(judged(problem, *by_search(problem, iterations, seed)))
    report.look([*short, *long])
    figures = [[one.per_stop_min for one in each] for each in (short, long)]
    report.add("driving_of_a_sixth_of_the_search", *figures)
    report.raw["cpu_s_of_a_sixth"] = {
        "this": [one.cpu_s for one in short],
        "over": [one.cpu_s for one in long],
    }


def rain_part(report: Report, size: int, seeds: range, iterations: int) -> None:
    """Lose a day: compare what moves with and without a price on it."""
    moved: tuple[list[float], list[float]] = ([], [])
    driving: tuple[list[float], list[float]] = ([], [])
    for seed in seeds:
        problem = town(size, seed)
        plan, _ = by_search(problem, iterations, seed)
        days = {s: problem.blocks[t.block].day for t in plan.tours for s in t.stops}
        lost = min(days.values())
        told = {number: day for number, day in days.items() if day != lost}
        wet = town(size, seed, lost_day=(lost - problem.first).days)
        stops = tuple(replace(s, announced=told.get(n)) for n, s in enumerate(wet.stops))
        kept = replace(wet, stops=stops)
        for place, given in enumerate((kept, wet)):
            again, _ = by_search(given, iterations, seed + 100)
            found = judged(kept, again)
            report.look([found])
            gone = sum(number not in again.served for number in told)
            moved[place].append(len(moved_stops(kept, again)) + gone)
            driving[place].append(found.per_stop_min)
    report.add("moved_after_rain_over_cold", *moved)
    report.add("driving_after_rain_over_cold", *driving)


def estimated_part(report: Report, size: int, seeds: range, iterations: int) -> None:
    """Plan on estimated times and drive by road; compare with a plan made on times by road."""
    driving: tuple[list[float], list[float]] = ([], [])
    late = 0
    for seed in seeds:
        by_road = town(size, seed, roads=Town(deviation=DEVIATION))
        estimated = town(size, seed, roads=Town(EstimatedTimes().row["factor"]))
        plan, _ = by_search(estimated, iterations, seed)
        driven = judged(by_road, plan)
        late += driven.broken
        own, _ = by_search(by_road, iterations, seed)
        driving[0].append(driven.per_stop_min)
        driving[1].append(judged(by_road, own).per_stop_min)
    report.add("driving_of_estimates_over_roads", *driving)
    report.raw["late_of_estimates"] = {"this": late}


def regions_part(report: Report, size: int, seeds: range, iterations: int) -> None:
    """Compare regions with one model at equal CPU seconds, each in a process of its own."""
    rows: dict[str, list[dict[str, float]]] = {"regions": [], "one": [], "area": []}
    for seed in seeds:
        rows["regions"].append(
            measured("days", "--child", "regions", str(size), str(seed), str(iterations))
        )
        budget = rows["regions"][-1]["cpu_s"]
        rows["one"].append(measured("days", "--child", "one", str(size), str(seed), str(budget)))
        rows["area"].append(measured("days", "--child", "area", str(size), str(seed), "0"))
    for way in rows.values():
        report.broken += int(sum(row["broken"] for row in way))
    for name, key in (("driving", "per_stop_min"), ("peak_memory", "peak_mb")):
        report.add(
            f"regions_{name}_over_one", *([r[key] for r in rows[w]] for w in ("regions", "one"))
        )
    report.add(
        "regions_driving_over_area",
        *([r["per_stop_min"] for r in rows[w]] for w in ("regions", "area")),
    )
    report.add(
        "regions_missed_over_area", *([r["missed"] for r in rows[w]] for w in ("regions", "area"))
    )
    beyond = [
        (a["missed"] - b["missed"]) / size
        for a, b in zip(rows["regions"], rows["one"], strict=True)
    ]
    report.ratios["regions_missed_beyond_one_share"] = statistics.median(beyond)
    report.raw["regions_missed_beyond_one_share"] = {"this": beyond}
    report.raw["regions"] = rows


def child(way: str, size: int, seed: int, amount: float) -> None:
    """Plan one way in this process alone, and print what it took."""
    problem = town(size, seed)
    begun = time.process_time()
    if way == "area":
        found = by_thumb(problem, seed)["area"]
    else:
        found = judged(problem, CHILDREN[way](problem, seed, amount))
    figures = {**found.__dict__, "per_stop_min": found.per_stop_min}
    figures |= {"cpu_s": time.process_time() - begun, "peak_mb": peak_mb()}
    print(json.dumps(figures))


def _by_regions(problem: Problem, seed: int, iterations: float) -> Plan:
    assert len(regions(problem)) > 1
    return planned(problem, Effort(round(iterations), seed))


def _as_one(problem: Problem, seed: int, budget_s: float) -> Plan:
    """Search everything as one model until the same CPU seconds are spent."""
    begun = time.process_time()
    ready = Ready(problem)
    effort = Effort(10**9, seed, stopped=lambda: time.process_time() - begun > budget_s)
    return searched(ready, first_plan(ready, seed=seed), effort)


CHILDREN: dict[str, Callable[[Problem, int, float], Plan]] = {
    "regions": _by_regions,
    "one": _as_one,
}


def main() -> None:
    """Run the parts that were asked for, and print them."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--size", type=int)
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--iterations", type=int)
    parser.add_argument("--parts", default="")
    given = parser.parse_args()
    seeds = range(1, given.seeds + 1)
    is_large = given.size is not None and given.size >= LARGE
    usual = "regions" if is_large else "plans,sooner,rain,estimated"
    report, parts = Report(), set((given.parts or usual).split(","))
    middle = given.size if given.size and not is_large else 300
    steps = given.iterations or ITERATIONS.get(middle, 6_000)
    if "plans" in parts:
        plans_part(report, [given.size] if given.size else SIZES, seeds, given.iterations)
    if "sooner" in parts:
        sooner_part(report, middle, seeds, given.iterations or 54_000)
    if "rain" in parts:
        rain_part(report, middle, seeds, steps)
    if "estimated" in parts:
        estimated_part(report, middle, seeds, steps)
    if "regions" in parts:
        regions_part(report, given.size or LARGE, seeds, given.iterations or 3_000)
    checks = {"stops": report.stops, "broken": report.broken}
    print(json.dumps({"ratios": report.ratios, "raw": report.raw, "checked": checks}, indent=1))


if __name__ == "__main__":
    if "--child" in sys.argv:
        way, size, seed, amount = sys.argv[-4:]
        child(way, int(size), int(seed), float(amount))
    else:
        main()
