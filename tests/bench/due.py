"""How judging in bulk compares with a plain loop over zones and days of the same rules.

``python tests/bench/due.py [--size N] [--sample K] [--repeat R]`` prints one JSON object.

The bulk way judges SIZE zones for every task on each of 365 days and lays the state of each task
out over zones and days. The plain loop judges one task on one zone on one day at a time by the same
rules; the windows of a day it works out once for all zones. It is measured on a sample of days and
zones, and its CPU seconds are scaled by their number, as each zone and day is work of its own. A
second loop takes one zone with all its days at a time. The states found in the sample must be the
bulk's.
"""

import argparse
import json
import math
import sys
import time
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.season.lawns import warm_climate
from turfmap.season.board import NOTHING, Board, codes, season_of
from turfmap.season.case import Case, Horizon
from turfmap.season.due import judged_for
from turfmap.season.judging import is_for, judged
from turfmap.season.known_weather import KnownWeather
from turfmap.season.weather import weather_until
from turfmap.season.windows import Almanac

FIRST = date(2026, 1, 1)
DAYS = [FIRST + timedelta(days=number) for number in range(365)]
ZONES_OF_PROPERTY = 4
Zones = dict[str, list[Any]]
Rows = list[dict[str, Any]]


def business(size: int) -> tuple[Zones, Rows, Rows]:
    """Return zones of many clients, what the clients said, and two seasons of visits.

    Invented, from a seed: every property has its own answers and its own days of visits.
    """
    chance = np.random.default_rng(20260924)
    numbers = np.arange(size)
    owners = [f"Client {number // ZONES_OF_PROPERTY}" for number in numbers]
    kinds = chance.choice(["turf", "bed", "hard"], size, p=[0.6, 0.35, 0.05])
    grasses = chance.choice(["bermuda", "zoysia", "centipede", "tall_fescue", ""], size)
    beds = chance.choice(["mixed", "new_wood_shrubs", "tender_perennials", ""], size)
    zones: Zones = {
        "property": owners,
        "name": [f"Zone {number}" for number in numbers],
        "kind": kinds.tolist(),
        "species": [g or None for g in np.where(kinds == "turf", grasses, "")],
        "bed_type": [b or None for b in np.where(kinds == "bed", beds, "")],
        "latitude": chance.uniform(32.0, 36.0, size).tolist(),
        "longitude": [-83.0] * size,
        "irrigated": [[None, True, False][n] for n in chance.integers(0, 3, size)],
    }
    answers: Rows = []
    visits: Rows = []
    for owner in dict.fromkeys(owners):
        said = chance.choice(["none", "planned", "not_asked"], p=[0.7, 0.2, 0.1])
        answers.append(
            {
                "property": owner,
                "zone": None,
                "question": "overseeding",
                "answer": said,
                "date": _day(chance, 280, 300) if said == "planned" else None,
                "answered_on": _day(chance, 180, 240),
            }
        )
        for task, (first, last) in VISITS.items():
            if chance.random() < 0.8:
                day = _day(chance, first, last)
                visits.append({"property": owner, "zone": None, "task": task, "date": day})
    return zones, answers, visits


# What a round brings, by days of the year.
VISITS = {
    "spring_pre_emergent": (45, 70),
    "spring_pre_emergent_second": (90, 118),
    "feeding_warm_season": (122, 140),
    "autumn_pre_emergent": (258, 277),
    "post_emergent_first_pass": (274, 298),
    "post_emergent_second_pass": (298, 330),
}


def _day(chance: np.random.Generator, first: int, last: int) -> date:
    return FIRST + timedelta(days=int(chance.integers(first, last)))


WEATHER = weather_until(warm_climate(FIRST - timedelta(days=365), DAYS[-1]), as_of=DAYS[-1])


def in_bulk(given: tuple[Zones, Rows, Rows]) -> dict[str, np.ndarray]:
    """Return the states of every task on every zone and day, shape (zones, days) each."""
    board = board_of(given, DAYS)
    return {row["task"]: board.states(row["task"]) for row in board.tasks}


def board_of(given: tuple[Zones, Rows, Rows], days: list[date]) -> Board:
    """Return the zones judged on the days."""
    zones, answers, visits = given
    return judged_for(zones, days, answers=answers, visits=visits, weather=WEATHER)


def alone(given: tuple[Zones, Rows, Rows], number: int) -> tuple[Zones, Rows, Rows]:
    """Return one of the zones with the rows that are for it."""
    zones, answers, visits = given
    owner = zones["property"][number]
    return (
        {name: [column[number]] for name, column in zones.items()},
        [row for row in answers if row["property"] == owner],
        [row for row in visits if row["property"] == owner],
    )


def cpu_s(work: Callable[[], Any], repeat: int = 1) -> float:
    """Return the least CPU time of some runs [s]."""
    found = []
    for _ in range(repeat):
        start = time.process_time()
        work()
        found.append(time.process_time() - start)
    return min(found)


def main() -> None:
    """Read the command line, measure, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--size", type=int, default=10_000, help="zones")
    parser.add_argument("--sample", type=int, default=400, help="zone-days of the plain loop")
    parser.add_argument("--repeat", type=int, default=3, help="runs of the bulk way")
    given = parser.parse_args()
    print(json.dumps(compared(given.size, given.sample, given.repeat), indent=1))


def compared(size: int, sample: int, repeat: int) -> dict[str, Any]:
    """Return the ratios with the figures that they are made of, and whether the ways agree."""
    whole, tenth = business(size), business(max(size // 10, 1))
    bulk_s = cpu_s(lambda: in_bulk(whole), repeat)
    tenth_s = cpu_s(lambda: in_bulk(tenth), repeat)
    states, board = in_bulk(whole), board_of(whole, DAYS)
    chance = np.random.default_rng(1)
    days = chance.choice(len(DAYS), min(SAMPLE_DAYS, len(DAYS)), replace=False).tolist()
    picks = chance.integers(size, size=max(sample // len(days), 1)).tolist()
    found: list[tuple[str, int, int, int]] = []
    loop_s = cpu_s(lambda: found.extend(plain_loop(board, days, picks)))
    alone_s = cpu_s(lambda: [in_bulk(alone(whole, zone)) for zone in picks])
    raw = {
        "loop_over_bulk": {"this": loop_s / len(days) / len(picks) * size * len(DAYS)},
        "zone_loop_over_bulk": {"this": alone_s / len(picks) * size},
    }
    raw = {name: pair | {"over": bulk_s} for name, pair in raw.items()}
    ratios = {name: pair["this"] / pair["over"] for name, pair in raw.items()}
    return {
        "size": size,
        "days": len(DAYS),
        "tasks": len(board.tasks),
        "sample_zone_days": len(days) * len(picks),
        "situations": len(board.situations),
        "task_situations": sum(each is not None for row in board.judged for each in row),
        "judgements": board.judgements,
        "ratios": ratios | {"growth_exponent": math.log10(bulk_s / tenth_s)},
        "raw": raw | {"growth_exponent": {"this": bulk_s, "over": tenth_s}},
        "agree": all(states[task][zone, day] == code for task, zone, day, code in found),
        "compared_states": len(found),
    }


SAMPLE_DAYS = 10


def plain_loop(board: Board, days: list[int], zones: list[int]) -> list[tuple[str, int, int, int]]:
    """Return the state of each task on each zone and day, judged one at a time."""
    rules, found = board.rules, []
    for place in days:
        day = np.array([DAYS[place].toordinal()])
        known = KnownWeather(WEATHER, day)
        almanac = Almanac(rules, known)
        for zone in zones:
            situation = board.situations[board.which[zone]]
            ground, season = situation.ground, season_of(situation.ground, rules)
            for task in board.tasks:
                code = NOTHING
                if is_for(task, ground, season):
                    case = Case(
                        ground, situation.told, situation.visits, known, Horizon(day), rules
                    )
                    code = int(codes(judged(task, case, almanac))[0])
                found.append((task["task"], zone, place, code))
    return found


if __name__ == "__main__":
    main()
