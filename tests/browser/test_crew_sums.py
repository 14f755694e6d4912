"""The sums of the crew page, done by the page itself, against GEOS and the ellipsoid."""

import dataclasses
import json
import re

import numpy as np
import shapely
from pyproj import Geod

from tests.browser.crew import LAWN, NEAR_IT, Opened, ask
from tests.views.crew_sample import ORIGIN, estate_plan
from turfmap.foundations.units import METRES_PER_FOOT
from turfmap.ground.here import LocalPlane


# Truth: GEOS on the pond's ground. Floor outside and ceiling inside are our own decision.
def test_the_distance_is_never_said_too_short_a_walk(crew: Opened) -> None:
    plan = estate_plan()
    pond = dataclasses.replace(
        plan, no_spray=[one for one in plan.no_spray if one.category == "pond"]
    )
    opened = crew(pond)
    places = [NEAR_IT, (36.2, 28.1)]
    out = re.search(r"(\d+) ft away", ask(opened, *places[0]))
    inside = re.search(r"(\d+) ft inside", ask(opened, *places[1]))
    assert out is not None
    assert inside is not None
    distances = shapely.distance(
        shapely.boundary(pond.no_spray[0].geometry),
        shapely.points(places),
    )
    assert int(out[1]) == int(distances[0] / METRES_PER_FOOT)
    assert int(inside[1]) == int(distances[1] / METRES_PER_FOOT) + 1


# Truth: GEOS, through shapely, on the shapes that the page was made from.
def test_the_pages_own_sums_agree_with_geos(crew: Opened) -> None:
    plan = estate_plan()
    opened = crew(plan)
    rng = np.random.default_rng(6)
    xy = rng.uniform(-300.0, 300.0, (100_000, 2))
    found = opened.page.evaluate(
        """text => {
          const { keepOff: ground } = turfmap.crew.places[0];
          const { isInside, edge } = turfmap.measure;
          return JSON.stringify(JSON.parse(text).map(([x, y]) =>
            [Number(isInside(ground, x, y)), edge(ground, x, y).distance]));
        }""",
        json.dumps(xy.tolist()),  # as one text: a hundred thousand values would cross one by one
    )
    inside, distance_m = np.array(json.loads(found)).T
    ground = shapely.union_all([one.geometry for one in plan.no_spray])
    shapely.prepare(ground)
    true_m = shapely.distance(shapely.boundary(ground), shapely.points(xy))
    assert np.abs(distance_m - true_m).max() < 0.02
    away = true_m > 0.02
    assert (inside[away] == shapely.contains_xy(ground, xy)[away]).all()
    assert 0.005 < inside.mean() < 0.5  # both sides were asked


# Truth: the geodesic of pyproj's Geod, on the ellipsoid itself.
def test_a_position_is_put_where_the_ellipsoid_has_it(crew: Opened) -> None:
    opened = crew()
    rng = np.random.default_rng(7)
    bearing, distance_m = rng.uniform(0, 360, 2_000), rng.uniform(0, 300, 2_000)
    lon, lat, _ = Geod(ellps="WGS84").fwd(
        np.full(2_000, ORIGIN[0]), np.full(2_000, ORIGIN[1]), bearing, distance_m
    )
    lonlat = np.column_stack([lon, lat])
    xy = np.array(
        opened.page.evaluate(
            "all => all.map((one) => turfmap.crew.places[0].at(...one))", lonlat.tolist()
        )
    )
    assert np.abs(np.hypot(*xy.T) - distance_m).max() < 0.02
    assert np.abs(xy - LocalPlane(*ORIGIN).flat(lonlat)).max() < 1e-6


def test_a_worse_position_or_one_more_cause_never_frees_ground(crew: Opened) -> None:
    opened = crew()
    ranks = opened.page.evaluate(
        """() => {
          const rank = { outside: 0, unsure: 1, stop: 1 };
          const [place] = turfmap.crew.places;
          const fewer = { ...place, causes: place.causes.slice(1) };
          const worse = [];
          for (let i = 0; i < 3000; i++) {
            const [x, y] = [(i * 73) % 260 - 130, (i * 37) % 220 - 110];
            let last = -1;
            for (const accuracy of [0, 0.5, 3, 10, 29.9, 31, NaN]) {
              const now = rank[turfmap.verdict(place, { x, y, accuracy }).state];
              const less = rank[turfmap.verdict(fewer, { x, y, accuracy }).state];
              if (now < last || now < less) worse.push([x, y, accuracy]);
              last = now;
            }
          }
          return worse;
        }"""
    )
    assert ranks == []


def test_of_zones_drawn_over_each_other_the_strictest_counts(crew: Opened) -> None:
    opened = crew()
    names = opened.page.evaluate(
        """([x, y]) => {
          const [place] = turfmap.crew.places;
          const lawn = place.zones.find(({ shape }) => turfmap.measure.isInside(shape, x, y));
          const over = ["go", "no", "wait"].map((answer) => ({ ...lawn, answer, name: answer }));
          return [over, [...over].reverse()].map((zones) =>
            turfmap.verdict({ ...place, zones }, { x, y, accuracy: 0 }).zone.name);
        }""",
        list(LAWN),
    )
    assert names == ["no", "no"]
