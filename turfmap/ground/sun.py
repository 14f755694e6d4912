"""Hours of direct sun a day over a season, cell by cell."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from importlib import import_module
from typing import Any

import numpy as np
from numpy.typing import NDArray

from turfmap.foundations.errors import input_fault
from turfmap.foundations.plane import Floats
from turfmap.ground.shadows import Scene, sunlit

HOURS_A_DAY = 24.0
DEGREES_AN_HOUR = 15.0


@dataclass(frozen=True)
class SunDay:
    """The sun's way over one day that stands for several.

    Attributes
    ----------
    day
        Which day.
    days
        How many days of the season it stands for.
    azimuth_deg, elevation_deg
        Where the sun stands in the middle of each step in which it is up, shape (k,): from north
        by east, and above the level horizon [deg].
    step_h
        How long a step is [h].
    bare_share
        Share of the sun that comes through deciduous crowns, 0 in leaf.
    """

    day: date
    days: int
    azimuth_deg: Floats
    elevation_deg: Floats
    step_h: float
    bare_share: float = 0.0


def season_days(first: date, last: date, every_days: int) -> list[tuple[date, int]]:
    """Return days that stand for a season, each with how many it stands for.

    Parameters
    ----------
    first, last
        The season, both days in it.
    every_days
        How many days one stands for; it is the middle one of them.
    """
    length = (last - first).days + 1
    starts = range(0, length, every_days)
    spans = [(start, min(every_days, length - start)) for start in starts]
    return [(first + timedelta(days=start + (days - 1) // 2), days) for start, days in spans]


def sun_positions(
    day: date, *, longitude: float, latitude: float, step_h: float, above_deg: float = 0.0
) -> tuple[Floats, Floats]:
    """Return where the sun stands in the middle of each step of a day while it is up.

    Parameters
    ----------
    day
        The day, by the sun: from midnight to midnight of local mean time.
    longitude, latitude
        The place [deg].
    step_h
        How long a step is [h].
    above_deg
        Steps in which the sun's centre, without refraction, is not higher are left out [deg].

    Returns
    -------
    azimuth, elevation : ndarray of float, shape (k,)
        From north by east, and above the level horizon [deg].

    Raises
    ------
    InputFaultsError
        If the library pvlib is not installed.

    References
    ----------
    I. Reda, A. Andreas, Solar position algorithm for solar radiation applications,
    NREL/TP-560-34302 (2008), as pvlib computes it.
    """
    library = _library()
    pandas = import_module("pandas")
    midnight = datetime(day.year, day.month, day.day) - timedelta(hours=longitude / DEGREES_AN_HOUR)
    middles_h = np.arange(step_h / 2.0, HOURS_A_DAY, step_h)
    times = pandas.DatetimeIndex(
        [midnight + timedelta(hours=float(hour)) for hour in middles_h], tz="UTC"
    )
    found = library.solarposition.get_solarposition(times, latitude, longitude)
    elevation = found["elevation"].to_numpy(float)
    up = elevation > above_deg
    return found["azimuth"].to_numpy(float)[up], elevation[up]


def sun_hours(in_leaf: Scene, bare: Scene | None, days: Sequence[SunDay]) -> NDArray[np.float32]:
    """Return the mean hours of direct sun a day, if the sky is clear.

    Parameters
    ----------
    in_leaf
        The ground with everything that stands on it.
    bare
        The same without the crowns that drop their leaves; None if there are none.
    days
        The days of the season.

    Returns
    -------
    ndarray of float32, shape `Scene.shape`
        Hours a day [h], NaN where the ground's height is unknown. A cell in the shadow of a bare
        crown alone has a share of the hour.
    """
    total = np.zeros(in_leaf.shape, dtype=np.float32)
    for each in days:
        steps = np.zeros(total.shape, dtype=np.float32)
        for azimuth, elevation in zip(each.azimuth_deg, each.elevation_deg, strict=True):
            lit = sunlit(in_leaf, float(azimuth), float(elevation))
            steps += lit
            if bare is not None and each.bare_share:
                through = sunlit(bare, float(azimuth), float(elevation)) & ~lit
                steps += np.float32(each.bare_share) * through
        total += np.float32(each.step_h * each.days) * steps
    mean: NDArray[np.float32] = total / np.float32(sum(each.days for each in days))
    mean[~in_leaf.known] = np.nan
    return mean


def _library() -> Any:
    try:
        import_module("pvlib.solarposition")
        return import_module("pvlib")
    except ImportError:
        raise input_fault(
            "the sun's place is found by the library pvlib, which is not installed",
            "install turfmap with its extra: pip install turfmap[weather]",
        ) from None
