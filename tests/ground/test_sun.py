"""Sun and shadow: a published worked example, trigonometry, a plain march, and what must hold."""

from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from pvlib import solarposition

from tests.ground.plain_march import marched
from turfmap.ground.shadows import Scene, scene, sunlit
from turfmap.ground.sun import SunDay, season_days, sun_hours, sun_positions

Heights = NDArray[np.float32]
JUNE, DECEMBER = date(2026, 6, 21), date(2026, 12, 21)


def open_to(heights: Heights, ground: Heights | None = None) -> Scene:
    return scene(heights, ground, 1.0)


def sun_day(day: date, latitude: float, *, step_h: float = 0.25, bare_share: float = 0.0) -> SunDay:
    azimuth, elevation = sun_positions(day, longitude=-83.0, latitude=latitude, step_h=step_h)
    return SunDay(day, 1, azimuth, elevation, step_h, bare_share)


def test_the_sun_stands_where_the_published_algorithm_puts_it() -> None:
    """NREL/TP-560-34302, table A5.1: 17 Oct 2003, 12:30:30 at UTC-7, 39.742476 N 105.1786 W.

    Azimuth 194.34024, elevation 39.872046 without refraction (39.888378, zenith 50.11162, with).
    """
    longitude = -105.1786
    # The hour by local mean time; a step of an odd part of it has it in its middle.
    hour = 12.0 + 30.5 / 60.0 + 7.0 + longitude / 15.0
    azimuth, elevation = sun_positions(
        date(2003, 10, 17), longitude=longitude, latitude=39.742476, step_h=2.0 * hour / 1499.0
    )
    nearest = np.argmin(np.abs(azimuth - 194.34024))
    assert azimuth[nearest] == pytest.approx(194.34024, abs=1e-3)
    assert elevation[nearest] == pytest.approx(39.872046, abs=1e-3)


@pytest.mark.parametrize("day", [JUNE, DECEMBER])
@pytest.mark.parametrize("latitude", [33.5, 45.0])
def test_level_ground_has_all_the_hours_between_rise_and_set(day: date, latitude: float) -> None:
    """The closed form 2/15 acos(-tan latitude tan declination), declination by pvlib.

    Of the sun's centre on a level horizon without refraction; sunrise tables have some 10 min more.
    """
    declination = solarposition.declination_spencer71(day.timetuple().tm_yday)
    half_day = np.arccos(-np.tan(np.radians(latitude)) * np.tan(declination))
    level = open_to(np.zeros((4, 4), np.float32))
    hours = sun_hours(level, None, [sun_day(day, latitude)])
    assert hours == pytest.approx(np.full((4, 4), 2.0 / 15.0 * np.degrees(half_day)), abs=0.25)


@pytest.mark.parametrize(("elevation", "depth_m"), [(45.0, 6.0), (30.0, 10.392), (60.0, 3.464)])
@pytest.mark.parametrize("azimuth", [0.0, 90.0, 180.0, 270.0])
def test_a_wall_throws_its_height_over_the_tangent(
    azimuth: float, elevation: float, depth_m: float
) -> None:
    """A wall 6 m high, h / tan(elevation), away from the sun and nowhere else."""
    heights = np.zeros((61, 61), np.float32)
    heights[30, :] = 6.0
    if azimuth in (90.0, 270.0):
        heights = np.ascontiguousarray(heights.T)
    shade = ~sunlit(open_to(heights), azimuth, elevation)
    line = shade[:, 30] if azimuth in (0.0, 180.0) else shade[30]
    away = {0.0: 1, 180.0: -1, 90.0: -1, 270.0: 1}[azimuth]
    # A cell's middle is in shadow up to the depth, the end itself not.
    expected = {30 + away * step for step in range(1, 20) if step < depth_m - 1e-6}
    assert set(np.flatnonzero(line)) == expected


def test_a_box_throws_the_shadow_that_geometry_gives() -> None:
    """Box of 20 by 10 m, 6 m high, sun at 135 deg and 45 deg: 127.279 m2 beside the box.

    The sweep of the box by its height along the ray: 6 (20 + 10) / sqrt(2).
    """
    cell_m = 0.05
    heights = np.zeros((500, 700), np.float32)
    heights[280:480, 200:600] = 6.0
    shade = ~sunlit(scene(heights, None, cell_m), 135.0, 45.0)
    assert shade.sum() * cell_m**2 == pytest.approx(127.279221, rel=0.015)


def rough_ground(seed: int, side: int = 90) -> Heights:
    rng = np.random.default_rng(seed)
    heights = np.zeros((side, side + 7), np.float32)
    for _ in range(14):
        row, column = rng.integers(2, side - 12, 2)
        tall, wide = rng.integers(1, 9, 2)
        heights[row : row + tall, column : column + wide] += rng.uniform(2, 15)
    return heights


def test_it_agrees_with_marching_from_every_cell() -> None:
    """Shadows' edges differ by half a cell; hours of a winter day by a few minutes on average."""
    ground, day = rough_ground(3, side=200), sun_day(DECEMBER, 33.5)
    swept = sun_hours(open_to(ground), None, [day])
    plain = np.zeros(ground.shape)
    for azimuth, elevation in zip(day.azimuth_deg, day.elevation_deg, strict=True):
        plain += 0.25 * marched(ground, azimuth, elevation)
    assert plain.min() < 3.0 < plain.max()  # there is shade to differ in
    assert np.abs(swept - plain).mean() < 0.05
    assert abs((swept - plain).mean()) < 0.01


@settings(max_examples=25, deadline=None)
@given(azimuth=st.floats(0, 359.9), elevation=st.floats(3, 85), seed=st.integers(0, 99))
def test_any_sun_over_any_ground_agrees_with_the_march(
    azimuth: float, elevation: float, seed: int
) -> None:
    """They differ only beside an edge of a shadow, whose cells each rounds in its own way."""
    ground = rough_ground(seed, side=50)
    swept, plain = sunlit(open_to(ground), azimuth, elevation), marched(ground, azimuth, elevation)
    around = np.lib.stride_tricks.sliding_window_view(np.pad(plain, 1, mode="edge"), (3, 3))
    has_both = around.any(axis=(2, 3)) & ~around.all(axis=(2, 3))
    assert (swept != plain).mean() < 0.08
    assert ((swept != plain) & ~has_both).mean() < 0.015


@settings(max_examples=25, deadline=None)
@given(azimuth=st.floats(0, 359.9), elevation=st.floats(3, 85), seed=st.integers(0, 99))
def test_what_is_added_never_brings_sun(azimuth: float, elevation: float, seed: int) -> None:
    ground = np.zeros_like(rough_ground(0, side=50))
    before, after = rough_ground(seed, side=50), rough_ground(seed, side=50)
    after[20:28, 20:26] += 9.0
    less = sunlit(open_to(after, ground), azimuth, elevation)
    more = sunlit(open_to(before, ground), azimuth, elevation)
    assert not (less & ~more).any()


def test_a_scene_that_is_alike_east_and_west_has_alike_hours() -> None:
    heights = rough_ground(5, side=40)
    heights = np.maximum(heights, heights[:, ::-1])
    azimuth, elevation = sun_positions(JUNE, longitude=-83.0, latitude=33.5, step_h=0.25)
    both = (np.concatenate([azimuth, 360.0 - azimuth]), np.concatenate([elevation, elevation]))
    hours = sun_hours(open_to(heights), None, [SunDay(JUNE, 1, *both, 0.25)])
    assert hours == pytest.approx(hours[:, ::-1])


def test_north_of_a_wall_is_dark_in_winter_only() -> None:
    """At 33.5 N the noon sun stands 33.06 deg high on 21 Dec and 79.94 on 21 Jun.

    That is 90 less latitude plus declination.
    So an endless wall of 6 m darkens 9.2 m of ground at noon in December and 1.06 m in June.
    """
    heights = np.zeros((40, 400), np.float32)
    heights[30] = 6.0
    hours = {
        day: sun_hours(open_to(heights), None, [sun_day(day, 33.5)])[:, 200]
        for day in (JUNE, DECEMBER)
    }
    assert hours[DECEMBER][30 - 9] < 1.5
    assert hours[DECEMBER][30 - 8] == 0.0
    assert hours[JUNE][30 - 2] > 6.0
    # South of it the whole winter's day is left.
    assert hours[DECEMBER][35] > 9.0


def hours_behind_a_wall(day: date, latitude: float, *, height_m: float, away_m: float) -> float:
    """Return the hours of sun of a place behind an endless wall, on the side away from the equator.

    By spherical trigonometry the sun is over the wall where a cos H > b (H: its hour angle), and
    over the horizon where cos H > -tan(latitude) tan(declination); declination by pvlib.
    """
    of_year = day.timetuple().tm_yday
    declination = np.copysign(1.0, latitude) * solarposition.declination_spencer71(of_year)
    phi = np.radians(abs(latitude))
    a = np.cos(declination) * (away_m * np.cos(phi) - height_m * np.sin(phi))
    b = -np.sin(declination) * (away_m * np.sin(phi) + height_m * np.cos(phi))
    hour_angle = np.radians(np.linspace(-180.0, 180.0, 200_001))
    over = a * np.cos(hour_angle) > b
    up = np.cos(hour_angle) > -np.tan(phi) * np.tan(declination)
    return 24.0 * float((over & up).mean())


@pytest.mark.parametrize("day", [JUNE, DECEMBER, date(2026, 3, 28)])
@pytest.mark.parametrize("latitude", [33.5, 45.0, -33.5])
def test_hours_behind_a_wall_are_those_of_the_closed_form(day: date, latitude: float) -> None:
    """A cell's height stands somewhere within it: half a cell and a step either way is allowed."""
    heights = np.zeros((40, 1200), np.float32)
    wall = 30 if latitude > 0.0 else 9
    heights[wall] = 6.0
    hours = sun_hours(open_to(heights), None, [sun_day(day, latitude)])[:, 600]
    for away in (2, 4, 8, 14, 25):
        found = hours[wall - away if latitude > 0.0 else wall + away]
        truth = [
            hours_behind_a_wall(day, latitude, height_m=6.0, away_m=away + half)
            for half in (-0.5, 0.5)
        ]
        assert min(truth) - 0.3 <= found <= max(truth) + 0.3, (away, found, truth)


def test_bare_crowns_let_their_share_through_and_crowns_shade_what_is_under_them() -> None:
    ground = np.zeros((60, 60), np.float32)
    crown = ground.copy()
    crown[28:33, 28:33] = 12.0
    day = sun_day(DECEMBER, 33.5, bare_share=0.44)
    in_leaf, bare = open_to(crown, ground), open_to(ground, ground)
    dark, winter = sun_hours(in_leaf, None, [day]), sun_hours(in_leaf, bare, [day])
    full = sun_hours(bare, None, [day])
    assert dark[30, 30] == 0.0
    assert winter == pytest.approx(dark + 0.44 * (full - dark), abs=1e-4)
    # A raster of the treetops alone cannot see who stands under them: what is drawn tells.
    under = crown > 0
    assert sun_hours(scene(crown, None, 1.0, under=under), None, [day])[30, 30] == 0.0


def test_missing_heights_cast_no_shadow() -> None:
    heights = rough_ground(1, side=40)
    holed = heights.copy()
    holed[heights > 0] = np.nan
    lit = sunlit(open_to(holed), 180.0, 20.0)
    assert lit[np.isfinite(holed)].all()
    assert open_to(holed).unknown_share == pytest.approx((heights > 0).mean())
    assert open_to(np.full((3, 3), np.nan, np.float32)).unknown_share == 1.0


def test_days_that_stand_for_a_season_are_all_of_it() -> None:
    days = season_days(date(2026, 4, 1), date(2026, 9, 30), 7)
    assert sum(count for _, count in days) == 183
    assert days[0] == (date(2026, 4, 4), 7)
    assert days[-1] == (date(2026, 9, 30), 1)
    assert season_days(JUNE, JUNE, 7) == [(JUNE, 1)]
