"""One stop moved by hand: the cost is the difference of two plans, and no rule is broken for it."""

from tests.days.plan.days import block, day, plan, problem, stop
from turfmap.days.plan.checker import Interval, checked
from turfmap.days.plan.filling import Ready
from turfmap.days.plan.moving import blocks_on, moved
from turfmap.days.plan.tours import timed
from turfmap.days.plan.weighing import driving_s


def test_a_stop_moved_to_a_day_nearby_costs_the_way_and_to_an_empty_day_a_trip() -> None:
    """Stops 10, 20 and 30 minutes out: alone, the middle one is 40 minutes; on the way, nothing."""
    given = problem([stop(n) for n in (1, 2, 3)], [block(0), block(1), block(2)])
    before = plan(given, {0: [0, 2], 1: [1]})
    onto = moved(Ready(given), before, 1, [0])
    assert onto.plan is not None
    assert onto.driving_s == driving_s(given, onto.plan) - driving_s(given, before) == -40 * 60
    assert onto.plan.tours[0].stops in ([0, 1, 2], [0, 2, 1])
    away = moved(Ready(given), before, 1, [2])
    assert away.plan is not None
    assert away.driving_s == 0
    assert away.plan.served == before.served


def test_a_stop_left_out_comes_in_by_a_refill_where_the_tank_needs_one() -> None:
    stops = [stop(n, amounts={"mix": 60.0}) for n in (1, 2)]
    given = problem(stops, [block(0, tanks={"mix": 80.0})])
    found = moved(Ready(given), plan(given, {0: [0]}), 1, [0])
    assert found.plan is not None
    assert checked(given, [timed(given, tour) for tour in found.plan.tours]) == []
    assert [call.stop for call in found.plan.tours[0].calls if call.stop < 0] == [-1]


def test_a_day_that_a_rule_forbids_is_refused_with_the_rule() -> None:
    given = problem([stop(1, last=day(0)), stop(2)], [block(0), block(1)])
    before = plan(given, {0: [0]})
    found = moved(Ready(given), before, 0, [1])
    assert found.plan is None
    assert found.why == ("2026-09-15 is not one of its days",)
    assert moved(Ready(given), before, 1, []).why == ("that truck does not work then",)


def test_a_second_pass_is_not_moved_out_of_its_interval() -> None:
    given = problem(
        [stop(1), stop(2, last=day(30))], [block(0), block(20), block(28)], last=day(30)
    )
    before = plan(given, {0: [0], 1: [1]})
    interval = Interval("stop 1", "stop 2", 17, 25)
    found = moved(
        Ready(given), before, 1, blocks_on(given, "truck", day(28).isoformat()), [interval]
    )
    assert found.plan is None
    assert any("days after its first pass" in words for words in found.why)
    assert moved(Ready(given), before, 1, [2]).plan is not None
