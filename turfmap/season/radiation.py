"""Sun at the ground: what reaches the edge of the air, what comes through, what stays.

All arguments may be scalars or arrays that broadcast; energies are per day [MJ m-2].

References
----------
.. [1] FAO Irrigation and Drainage Paper 56 (1998), chapter 3; equation numbers stand beside each
   function. Checked against its examples 8, 9, 17 and 18 in ``tests/published``.
.. [2] ASCE-EWRI (2005), The ASCE Standardized Reference Evapotranspiration Equation: from memory.
"""

import numpy as np

from turfmap.season.weather import Floats

SOLAR_CONSTANT = 0.0820  # [MJ m-2 min-1]
STEFAN_BOLTZMANN = 4.903e-9  # [MJ K-4 m-2 day-1]
ALBEDO = 0.23  # of the grass reference
KELVIN = 273.16  # as the paper has it
# Angstrom's a and b where nothing better is known (eq. 35).
CLOUDED, CLEAR = 0.25, 0.50
# Hargreaves' coefficient of radiation from temperature, inland (eq. 50).
INLAND = 0.16


def sunset_angle(latitude_deg: Floats, day_of_year: Floats) -> Floats:
    """Return the hour angle of sunset [rad] (eq. 25); 0 in polar night, pi under midnight sun."""
    latitude = np.radians(latitude_deg)
    cosine = -np.tan(latitude) * np.tan(declination(day_of_year))
    angle: Floats = np.arccos(np.clip(cosine, -1.0, 1.0))
    return angle


def declination(day_of_year: Floats) -> Floats:
    """Return the sun's declination [rad] (eq. 24)."""
    return 0.409 * np.sin(2.0 * np.pi * day_of_year / 365.0 - 1.39)


def extraterrestrial(latitude_deg: Floats, day_of_year: Floats) -> Floats:
    """Return radiation at the edge of the air, Ra (eq. 21, with eq. 23 for the distance)."""
    latitude, tilt = np.radians(latitude_deg), declination(day_of_year)
    angle = sunset_angle(latitude_deg, day_of_year)
    nearness = 1.0 + 0.033 * np.cos(2.0 * np.pi * day_of_year / 365.0)
    course = angle * np.sin(latitude) * np.sin(tilt) + np.cos(latitude) * np.cos(tilt) * np.sin(
        angle
    )
    energy: Floats = 24.0 * 60.0 / np.pi * SOLAR_CONSTANT * nearness * course
    return energy


def daylight_h(latitude_deg: Floats, day_of_year: Floats) -> Floats:
    """Return the longest possible sunshine, N [h] (eq. 34)."""
    return 24.0 / np.pi * sunset_angle(latitude_deg, day_of_year)


def from_sunshine(extraterrestrial_mj: Floats, sunshine_h: Floats, daylight_h: Floats) -> Floats:
    """Return radiation at the ground from hours of sunshine, Rs (eq. 35)."""
    return (CLOUDED + CLEAR * sunshine_h / daylight_h) * extraterrestrial_mj


def from_temperature(extraterrestrial_mj: Floats, air_min_c: Floats, air_max_c: Floats) -> Floats:
    """Return radiation at the ground from the day's extremes, Rs (eq. 50), inland.

    Never more than under a clear sky at sea level.
    """
    spread = np.sqrt(np.maximum(air_max_c - air_min_c, 0.0))
    return np.minimum(INLAND * spread, CLOUDED + CLEAR) * extraterrestrial_mj


def clear_sky(extraterrestrial_mj: Floats, elevation_m: Floats) -> Floats:
    """Return radiation at the ground under a clear sky, Rso (eq. 37)."""
    return (CLOUDED + CLEAR + 2e-5 * elevation_m) * extraterrestrial_mj


def net_short(solar_mj: Floats) -> Floats:
    """Return what grass keeps of the sun's radiation, Rns (eq. 38)."""
    return (1.0 - ALBEDO) * solar_mj


def net_long(
    air_min_c: Floats,
    air_max_c: Floats,
    vapour_kpa: Floats,
    clearness: Floats,
) -> Floats:
    """Return what the ground loses in long waves, Rnl (eq. 39).

    Parameters
    ----------
    vapour_kpa
        Actual vapour pressure [kPa].
    clearness
        Rs / Rso; taken from 0.3 (thick cloud) to 1 (clear), the limits of ASCE-EWRI 2005 [2]_.
    """
    glow = STEFAN_BOLTZMANN * ((air_max_c + KELVIN) ** 4 + (air_min_c + KELVIN) ** 4) / 2.0
    humid = 0.34 - 0.14 * np.sqrt(vapour_kpa)
    return glow * humid * (1.35 * np.clip(clearness, 0.3, 1.0) - 0.35)
