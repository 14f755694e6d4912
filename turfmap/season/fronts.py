"""Cooling fronts: rain with a cool night."""

import numpy as np

from turfmap.season.signals import Marks
from turfmap.season.weather import Floats

FRONT_D = 2  # rain on the day of a cold night or the day before belongs to the same front


def front_days(
    air_min_c: Floats, rain_mm: Floats, *, coolest_c: float, least_rain_mm: float
) -> Marks:
    """Return the days on which a cooling front has come.

    The figures are absolute, not a fall from the days before: so a warm spell cannot make a front,
    and warming a record can only take fronts away.

    Parameters
    ----------
    air_min_c, rain_mm
        Daily values, shape (days,) or (days, cells). A gap is no front.
    coolest_c
        The night must be as cool as this [degC].
    least_rain_mm
        It must have rained this much on the day or the day before [mm].
    """
    wet = rain_mm >= least_rain_mm
    wet_lately = wet.copy()
    for back in range(1, FRONT_D):
        wet_lately[back:] |= wet[:-back]
    front: Marks = wet_lately & (air_min_c <= coolest_c)
    return front


def front_is_known(air_min_c: Floats, rain_mm: Floats) -> Marks:
    """Return the days of which it can be said whether a front has come."""
    known: Marks = np.isfinite(air_min_c) & np.isfinite(rain_mm)
    return known
