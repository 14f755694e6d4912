"""Second passes by a horizon that rolls on: never outside their interval."""

from dataclasses import replace
from datetime import date

import pytest

from tests.days.plan.days import block, day, problem, random_problem, stop
from turfmap.days.plan.checker import checked
from turfmap.days.plan.problem import Problem
from turfmap.days.plan.regions import planned
from turfmap.days.plan.search import Effort
from turfmap.days.plan.second_passes import Again, Rolled, rolled
from turfmap.days.plan.tours import Plan, timed
from turfmap.desk.spray_works import season_ends


def roll(given: Problem, again: dict[str, Again], seed: int = 1) -> Rolled:
    def turn(part: Problem) -> Plan:
        return planned(part, Effort(80, seed))

    return rolled(given, again, turn)


@pytest.mark.parametrize("seed", range(6))
def test_second_passes_keep_their_interval(seed: int) -> None:
    """21 days, 4 days of play, as a rule of three weeks has it."""
    made = random_problem(seed, stops=14, trucks=2, days=4)
    blocks = [
        block(n, f"truck {t}", tanks={"a": 60.0, "b": 40.0}) for n in range(40) for t in (0, 1)
    ]
    licensed = tuple(replace(b, licences=frozenset({"applicator"})) for b in blocks)
    given = replace(made, blocks=licensed, last=day(39))
    again = {one.id: Again(17, 25, f"{one.id} again") for one in given.stops[::2]}
    found = roll(given, again, seed)
    tours = [timed(found.problem, tour) for tour in found.plan.tours]
    assert checked(found.problem, tours, found.intervals) == []
    days = {
        found.problem.stops[number].id: found.problem.blocks[tour.block].day
        for tour in found.plan.tours
        for number in tour.stops
    }
    done = [name for name in again if name in days]
    assert len(done) >= 5
    gaps = [(days[f"{name} again"] - days[name]).days for name in done]
    assert all(17 <= gap <= 25 for gap in gaps)


def test_without_room_for_a_second_pass_there_is_one_turn_and_its_days_are_told() -> None:
    given = problem([stop(1)], [block(0), block(1)])
    turns: list[Problem] = []

    def turn(part: Problem) -> Plan:
        turns.append(part)
        return planned(part, Effort(20, 1))

    found = rolled(given, {"stop 1": Again(21, 42, "again")}, turn)
    assert len(turns) == 1
    (interval,) = found.intervals
    second = found.problem.stops[1]
    done = found.problem.blocks[found.plan.tours[0].block].day
    assert second.id == "again"
    assert interval.second_pass == second.id
    assert ((second.first - done).days, (second.last - done).days) == (21, 42)
    assert found.plan.served == {0}


def test_a_stop_that_no_turn_could_serve_is_served_never() -> None:
    given = problem([stop(1, last=day(1))], [block(5), block(30)], last=day(35))
    found = roll(given, {"stop 1": Again(17, 25, "again")})
    assert found.plan.served == set()
    assert found.intervals == ()


def test_the_season_ends_before_the_interval_does() -> None:
    """By hand: done 1 Nov, 21 to 42 days later is 22 Nov to 13 Dec; the season ends on 10 Dec."""
    again = Again(21, 42, "again", "12-10")
    assert again.days_after(date(2026, 11, 1)) == (date(2026, 11, 22), date(2026, 12, 10))
    assert again.days_after(date(2026, 10, 1)) == (date(2026, 10, 22), date(2026, 11, 12))
    first, last = again.days_after(date(2026, 11, 25))
    assert first > last


def test_a_season_that_is_over_leaves_no_second_pass() -> None:
    given = problem([stop(1)], [block(0)])
    ends = f"{day(20):%m-%d}"
    found = roll(given, {"stop 1": Again(21, 42, "again", ends)})
    assert found.plan.served == {0}
    assert found.intervals == ()
    assert len(found.problem.stops) == 1


def test_the_last_day_of_a_season_is_that_of_the_place() -> None:
    """Table window: after the first pass, never later than 10 Dec; in spring by latitude."""
    assert season_ends("post_emergent_second_pass", -83.0, 33.5) == "12-10"
    assert season_ends("spring_pre_emergent_second", -83.0, 30.0) == "05-10"
    assert season_ends("spring_pre_emergent_second", -83.0, 33.5) == "05-20"
    assert season_ends("post_emergent_second_pass", 10.0, 50.0) is None
