"""What a plan costs, in seconds of driving: the road, its truck-days, and what it leaves out."""

import itertools

from turfmap.days.plan.problem import Problem
from turfmap.days.plan.tours import Plan, Tour


def cost(problem: Problem, plan: Plan) -> float:
    """Return what a plan costs in all [s of driving]."""
    served = plan.served
    missed = sum(int(prize) for n, prize in enumerate(problem.prize) if n not in served)
    days = sum(problem.blocks[tour.block].share for tour in plan.tours)
    moved = sum(moved_stops(problem, plan).values())
    return driving_s(problem, plan) + problem.prices.truck_day * days + missed + moved


def moved_stops(problem: Problem, plan: Plan) -> dict[int, int]:
    """Return the served stops that come on another day than announced, each with its price [s]."""
    found = {}
    for tour in plan.tours:
        day = problem.blocks[tour.block].day
        for stop in tour.stops:
            if problem.stops[stop].announced not in {None, day}:
                found[stop] = problem.prices.moved
    return found


def driving_s(problem: Problem, plan: Plan) -> int:
    """Return the driving of a plan [s]."""
    return sum(tour_driving_s(problem, tour) for tour in plan.tours)


def tour_driving_s(problem: Problem, tour: Tour) -> int:
    """Return the driving of a tour [s]: out, from call to call, and home."""
    depot = problem.blocks[tour.block].depot
    between = [problem.stops[call.stop].place if call.stop >= 0 else depot for call in tour.calls]
    legs = itertools.pairwise([depot, *between, depot])
    return sum(int(problem.travel.seconds[here, there]) for here, there in legs)
