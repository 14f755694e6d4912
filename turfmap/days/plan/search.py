"""The search for a plan: PyVRP told of stops, blocks, mixes, licences and refills.

Each truck on each day with hours to work is a vehicle; those that are alike are of one kind. A stop
is one client for each run of days on which it may be done; of several at most one is served. Mixes
and licences are dimensions of load. Iterations are counted, never seconds, so the same seed gives
the same plan on every machine.

The way from and to the depot lies outside the hours to work in, and within the shift. Where hours
are so short that the longest way fits beside them anyway (half a day left by rain), the truck
begins and ends, for the search, at a gate that takes no time and all of the driving. Else its hours
are widened by the shortest way, which is safe and loses a little.
"""

import warnings
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from pyvrp import (
    Activity,
    ActivityType,
    Client,
    ClientGroup,
    Depot,
    Location,
    ProblemData,
    Route,
    Solution,
    VehicleType,
    solve,
)
from pyvrp.exceptions import PenaltyBoundWarning
from pyvrp.IteratedLocalSearch import IteratedLocalSearchCallbacks, IteratedLocalSearchParams
from pyvrp.solve import SolveParams

from turfmap.days.plan.filling import Ready
from turfmap.days.plan.problem import DAY_S, Block, Problem, Span, Whole
from turfmap.days.plan.tours import REFILL, Call, Plan, Time, Tour, plan_of, timed
from turfmap.days.plan.weighing import cost

# How far back a step is compared: measured, a short memory is best within minutes, the solver's
# own of 300 in searches that are long.
HISTORY, LONG_HISTORY = 50, 300
LONG_SEARCH = 100_000
# Amounts are told to the search in hundredths: what a stop takes is rounded up, a tank down.
PARTS = 100


@dataclass(frozen=True)
class Progress:
    """How far a search has come: iterations, stops served, and minutes of driving."""

    done: int
    of: int
    served: int
    driving_min: float


@dataclass(frozen=True)
class Effort:
    """How long to search, and who looks on.

    Attributes
    ----------
    iterations
        How many steps the search takes.
    seed
        Where its chance begins.
    on_best
        Told of every better plan.
    stopped
        Asked between steps whether to end with the best so far.
    """

    iterations: int
    seed: int = 1
    on_best: Callable[[Progress], None] | None = None
    stopped: Callable[[], bool] | None = None


def searched(ready: Ready, start: Plan, effort: Effort) -> Plan:
    """Return the best plan found from a plan that keeps every rule; at worst that plan.

    Parameters
    ----------
    ready
        The problem.
    start
        Where the search begins.
    effort
        How long.
    """
    problem = ready.problem
    if not problem.stops or not problem.blocks:
        return plan_of([])
    told = _Told(ready)
    begun = told.solution(start)
    watching = _Watching(told, effort)
    history = HISTORY if effort.iterations < LONG_SEARCH else LONG_HISTORY
    params = SolveParams(ils=IteratedLocalSearchParams(history_length=history, callbacks=watching))
    with warnings.catch_warnings():
        # Said of overfull weeks; whether a plan keeps the rules is looked at below.
        warnings.simplefilter("ignore", PenaltyBoundWarning)
        result = solve(
            told.data,
            watching.is_over,
            seed=effort.seed,
            collect_stats=False,
            params=params,
            initial_solution=begun,
        )
    if not result.best.is_feasible():
        return start
    # The search's hours are a little narrower than the true ones, so the start may beat it.
    return min(told.plan(result.best), start, key=lambda plan: cost(problem, plan))


class _Watching(IteratedLocalSearchCallbacks):
    """Counts the steps of a search and tells of its best."""

    def __init__(self, told: "_Told", effort: Effort) -> None:
        self.told, self.effort, self.done = told, effort, 0

    def is_over(self, best_cost: int) -> bool:
        """Count a step; say whether there are no more, whatever the best costs."""
        self.done += 1
        if self.effort.stopped is not None and self.effort.stopped():
            return True
        return self.done > self.effort.iterations

    def on_best(self, best: Any) -> None:
        """Tell of a better plan."""
        if self.effort.on_best is not None:
            minutes = best.distance() / 60.0
            stops = best.num_clients()
            self.effort.on_best(Progress(self.done, self.effort.iterations, stops, minutes))


class _Told:
    """A problem in the solver's words, and its answers in ours."""

    def __init__(self, ready: Ready) -> None:
        self.ready, self.problem = ready, ready.problem
        self.places, self.row_of = _used_places(self.problem)
        self.refills = sorted({(block.depot, block.refill_s) for block in self.problem.blocks})
        self.homes = sorted({block.depot for block in self.problem.blocks})
        self.gates = {place: len(self.places) + n for n, place in enumerate(self.homes)}
        self.kinds = _kinds(self.problem)
        self.kind_of = {block: kind for kind, mine in enumerate(self.kinds) for block in mine}
        self.copies: list[Call] = []
        self.copies_of: dict[int, list[int]] = {}
        self.needs = np.ceil(self.problem.needs * PARTS - 1e-6).astype(np.int64)
        self.holds = np.floor(self.problem.holds * PARTS + 1e-6).astype(np.int64)
        clients, groups = self._clients()
        rows = np.array([*self.places, *self.homes], dtype=np.int64)
        # The solver declares its matrices in another shape.
        driving: Any = self.problem.travel.seconds[np.ix_(rows, rows)]
        taking: Any = driving.copy()
        taking[len(self.places) :] = 0
        taking[:, len(self.places) :] = 0
        self.data = ProblemData(
            locations=[Location(float(x), float(y)) for x, y in self.problem.travel.xy_m[rows]],
            clients=clients,
            depots=self._depots(),
            vehicle_types=[self._vehicle(mine[0], len(mine)) for mine in self.kinds],
            distance_matrices=[driving],
            duration_matrices=[taking],
            groups=groups,
        )

    def _clients(self) -> tuple[list[Client], list[ClientGroup]]:
        clients: list[Client] = []
        groups: list[ClientGroup] = []
        for number, runs in enumerate(self.ready.runs):
            copies = self._copies_of(number, runs)
            mine = list(range(len(clients), len(clients) + len(copies)))
            self.copies_of[number] = mine
            group = None
            if len(copies) > 1:
                group = len(groups)
                groups.append(ClientGroup(mine, required=False))
            for run, prize in copies:
                clients.append(self._client(number, run, prize, group))
                self.copies.append(Call(number, *run))
        return clients, groups

    def _copies_of(self, number: int, runs: list[Span]) -> list[tuple[Span, int]]:
        """Return the runs that are long enough, each with its prize; the announced day apart."""
        stop, prize = self.problem.stops[number], int(self.problem.prize[number])
        found = [(run, prize) for run in runs]
        if stop.announced is not None:
            start = self.problem.day_start(stop.announced)
            kept = [(max(a, start), min(b, start + DAY_S)) for a, b in runs]
            found += [(run, prize + self.problem.prices.moved) for run in kept]
        return [(run, worth) for run, worth in found if run[1] - run[0] >= stop.service_s]

    def _client(self, number: int, run: Span, prize: int, group: int | None) -> Client:
        stop = self.problem.stops[number]
        licensed = [int(name in stop.licences) for name in self.problem.licences]
        return Client(
            location=self.row_of[stop.place],
            delivery=[*self.needs[number].tolist(), *licensed],
            service_duration=stop.service_s,
            tw_early=run[0],
            tw_late=run[1] - stop.service_s,  # the last beginning of the work
            prize=prize,
            required=False,
            group=group,
        )

    def _depots(self) -> list[Depot]:
        homes = [Depot(self.row_of[place]) for place in self.homes]
        gates = [Depot(self.gates[place]) for place in self.homes]
        refills = [
            Depot(self.row_of[place], service_duration=refill_s) for place, refill_s in self.refills
        ]
        return [*homes, *gates, *refills]

    def _vehicle(self, number: int, how_many: int) -> VehicleType:
        block = self.problem.blocks[number]
        home, early, late = self._away(number)
        licensed = [
            len(self.problem.stops) if name in block.licences else 0
            for name in self.problem.licences
        ]
        return VehicleType(
            num_available=how_many,
            capacity=[*self.holds[number].tolist(), *licensed],
            start_depot=home,
            end_depot=home,
            fixed_cost=round(self.problem.prices.truck_day * block.share),
            tw_early=early,
            tw_late=late,
            shift_duration=block.shift_s,
            reload_depots=[self._refill(block)] if self._may_refill(block) else [],
            max_reloads=block.most_refills if self._may_refill(block) else 0,
        )

    def _may_refill(self, block: Block) -> bool:
        return bool(self.problem.mixes) and block.most_refills > 0

    def _refill(self, block: Block) -> int:
        return 2 * len(self.homes) + self.refills.index((block.depot, block.refill_s))

    def _away(self, number: int) -> tuple[int, int, int]:
        """Return the depot where a block begins, and from when to when it lasts for the search."""
        block = self.problem.blocks[number]
        home = self.homes.index(block.depot)
        mine = self._within_reach(number)
        if not mine.size:
            return home, block.opens, block.closes
        out = self.problem.travel.seconds[block.depot, mine]
        back = self.problem.travel.seconds[mine, block.depot]
        fits_beside = (
            block.opens - out.max() >= block.leaves
            and block.closes + back.max() <= block.returns
            and block.closes - block.opens + out.max() + back.max() <= block.shift_s
        )
        if fits_beside:
            return len(self.homes) + home, block.opens, block.closes
        early = max(block.leaves, block.opens - int(out.min()))
        return home, early, min(block.returns, block.closes + int(back.min()))

    def _within_reach(self, number: int) -> Whole:
        """Return the places of stops that this block could serve."""
        block = self.problem.blocks[number]
        begins, ends = self.ready.run_edges
        meets = (np.minimum(ends, block.closes) > np.maximum(begins, block.opens)).any(axis=1)
        found: Whole = self.problem.places[self.problem.may_go[number] & meets]
        return found

    def solution(self, plan: Plan) -> Solution:
        """Return a plan as the solver's solution."""
        return Solution(self.data, [self._route(tour) for tour in plan.tours])

    def _route(self, tour: Tour) -> Route:
        refill = self._refill(self.problem.blocks[tour.block])
        steps = [
            Activity(ActivityType.DEPOT, refill)
            if call == REFILL
            else Activity(ActivityType.CLIENT, self._copy(call.stop, time))
            for call, time in zip(tour.calls, timed(self.problem, tour).times, strict=True)
        ]
        return Route(self.data, steps, self.kind_of[tour.block])

    def _copy(self, stop: int, time: Time) -> int:
        """Return the copy of a stop for a time; that of the announced day comes last."""
        return next(
            copy
            for copy in reversed(self.copies_of[stop])
            if self.copies[copy].opens <= time.starts and time.ends <= self.copies[copy].closes
        )

    def plan(self, solution: Solution) -> Plan:
        """Return the solver's solution as a plan."""
        free = [list(reversed(mine)) for mine in self.kinds]
        return plan_of(
            [
                Tour(free[route.vehicle_type()].pop(), self._calls(route))
                for route in solution.routes()
            ]
        )

    def _calls(self, route: Route) -> tuple[Call, ...]:
        inner = list(route)[1:-1]
        return tuple(self.copies[step.idx] if step.is_client() else REFILL for step in inner)


def _kinds(problem: Problem) -> list[list[int]]:
    """Return the blocks that differ in nothing but the truck, together."""
    found: dict[object, list[int]] = {}
    for number, block in enumerate(problem.blocks):
        hashable = {"tanks": tuple(sorted(block.tanks.items())), "truck": ""}
        key = tuple((vars(block) | hashable).items())
        found.setdefault(key, []).append(number)
    return list(found.values())


def _used_places(problem: Problem) -> tuple[list[int], dict[int, int]]:
    """Return the places that are called at, and the row that each gets: a part needs no more."""
    depots = {block.depot for block in problem.blocks}
    places = sorted(depots | {stop.place for stop in problem.stops})
    return places, {place: row for row, place in enumerate(places)}
