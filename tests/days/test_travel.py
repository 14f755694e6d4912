"""Driving times: estimates by their figures, roads against another library of shortest ways."""

import networkx as nx
import numpy as np
import pytest
from numpy.typing import NDArray

from turfmap.days.plan.problem import METRES_PER_MILE
from turfmap.days.travel import EstimatedTimes, straight_m
from turfmap.days.travel_roads import Roads, RoadTimes
from turfmap.foundations.definitions import table
from turfmap.foundations.errors import InputFaultsError

Floats = NDArray[np.float64]
ORIGIN = np.array([-83.0, 33.5])
# A degree of latitude on a sphere of 6,371,008.8 m (IUGG mean radius).
METRES_A_DEGREE = 2.0 * np.pi * 6_371_008.8 / 360.0


def grid(side: int, chance: np.random.Generator) -> Roads:
    """Return a net of one-way and two-way streets with speeds of their own, some cut off."""
    places = ORIGIN + 0.002 * np.stack(np.divmod(np.arange(side * side), side), axis=1)
    ends, seconds = [], []
    for node in range(side * side):
        for other in (node + 1 if (node + 1) % side else -1, node + side):
            if not 0 <= other < side * side or chance.random() < 0.1:
                continue
            ways = [(node, other), (other, node)]
            for way in ways[: 1 + int(chance.random() < 0.8)]:
                ends.append(way)
                seconds.append(float(chance.uniform(5.0, 60.0)))
    pairs = np.array(ends)
    return Roads(places, pairs, np.full(len(pairs), 200.0), np.array(seconds), "net")


def test_estimates_are_the_straight_line_times_the_factor_at_the_speed() -> None:
    (row,) = (row for row in table("circuity").rows if row["use"] == "estimate")
    north = np.array([ORIGIN, ORIGIN + np.array([0.0, 0.1])])
    found = EstimatedTimes().between(north)
    metres = 0.1 * METRES_A_DEGREE * row["factor"]
    assert found.metres[0, 1] == pytest.approx(metres, abs=1)
    seconds = metres / METRES_PER_MILE / row["speed_mph"] * 3_600
    assert found.seconds[0, 1] == pytest.approx(seconds, abs=1)
    assert found.is_estimated
    assert found.basis.startswith("Estimated times")
    # Biased upward: above every figure that stands in the table to compare.
    others = [r["factor"] for r in table("circuity").rows if r["use"] == "reference"]
    assert row["factor"] > max(others)


def test_a_straight_distance_is_that_of_a_sphere() -> None:
    """London to Paris, 343.6 km by the great circle of any atlas; from memory, to 0.5 %."""
    london, paris = np.array([[-0.1278, 51.5074]]), np.array([[2.3522, 48.8566]])
    assert straight_m(london, paris)[0, 0] / 1_000.0 == pytest.approx(343.6, rel=0.005)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_times_by_road_equal_another_library(seed: int) -> None:
    """`networkx`: its own strongly connected part and its own Dijkstra, time and length alike."""
    chance = np.random.default_rng(seed)
    roads = grid(7, chance)
    graph = nx.DiGraph()
    for (here, there), metres, seconds in zip(
        roads.ends.tolist(), roads.metres, roads.seconds, strict=True
    ):
        graph.add_edge(here, there, metres=metres, seconds=seconds)
    parts = [sorted(part) for part in nx.strongly_connected_components(graph)]
    part = max(parts, key=len)
    chosen = chance.choice(part, 8, replace=False)
    found = RoadTimes(roads).between(roads.lon_lat[chosen])
    for row, here in enumerate(chosen):
        ways = nx.single_source_dijkstra(graph, here, weight="seconds")
        for column, there in enumerate(chosen):
            if row == column:
                continue
            assert found.seconds[row, column] == pytest.approx(ways[0][there], abs=1.1)
            assert found.metres[row, column] == 200 * (len(ways[1][there]) - 1)


def test_what_is_known_stays_known_and_new_places_join_it() -> None:
    roads = grid(7, np.random.default_rng(4))
    times = RoadTimes(roads)
    places = times.roads.lon_lat
    first = times.between(places[:5])
    second = times.between(places[3:12])
    assert (second.seconds[:2, :2] == first.seconds[3:, 3:]).all()
    assert (second.seconds == RoadTimes(roads).between(places[3:12]).seconds).all()


def test_a_place_far_from_every_road_is_refused_and_a_net_without_roads_too() -> None:
    roads = grid(4, np.random.default_rng(5))
    with pytest.raises(InputFaultsError, match="from its nearest road"):
        RoadTimes(roads).between(np.array([ORIGIN, ORIGIN + np.array([1.0, 0.0])]))
    nothing = Roads(roads.lon_lat, np.zeros((0, 2), np.int64), np.zeros(0), np.zeros(0), "empty")
    with pytest.raises(InputFaultsError, match="holds no roads"):
        RoadTimes(nothing)
