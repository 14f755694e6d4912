"""Reference evapotranspiration of short grass, by day: the best method that the record allows.

Penman and Monteith where humidity and wind are known (radiation, if not measured, from the day's
extremes); Hargreaves where only temperature is. Which one was used is told day by day.

References
----------
.. [1] FAO Irrigation and Drainage Paper 56 (1998), chapters 3 and 4; equation numbers stand
   beside each step. Checked against its examples 17 and 18 and the package pyet in
   ``tests/published``.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from turfmap.season import radiation
from turfmap.season.weather import Floats, Site, Weather

MONTHLY_SOIL_HEAT = 0.14  # [MJ m-2 day-1 per degC] (eq. 44)

# Methods, best first, as told to people; 0 stands for a day without temperature.
NONE, PENMAN, PENMAN_NO_SUN, HARGREAVES = range(4)
METHOD_WORDS = {
    PENMAN: "Penman-Monteith (FAO-56) from temperature, humidity, wind and sun",
    PENMAN_NO_SUN: "Penman-Monteith (FAO-56), the sun taken from the day's extremes",
    HARGREAVES: "Hargreaves, from temperature alone: off by a tenth or more, too low when windy",
}


def saturation_kpa(air_c: Floats) -> Floats:
    """Return the vapour pressure of saturated air (eq. 11) [kPa]."""
    return 0.6108 * np.exp(17.27 * air_c / (air_c + 237.3))


def saturation_slope(air_c: Floats) -> Floats:
    """Return how fast it grows with temperature, delta (eq. 13) [kPa per degC]."""
    return 4098.0 * saturation_kpa(air_c) / (air_c + 237.3) ** 2


def pressure_kpa(elevation_m: Floats) -> Floats:
    """Return the pressure of the air (eq. 7) [kPa]."""
    return 101.3 * ((293.0 - 0.0065 * elevation_m) / 293.0) ** 5.26


def psychrometric(pressure_kpa: Floats) -> Floats:
    """Return the psychrometric constant, gamma (eq. 8) [kPa per degC]."""
    return 0.665e-3 * pressure_kpa


def mean_saturation_kpa(air_min_c: Floats, air_max_c: Floats) -> Floats:
    """Return the day's saturation vapour pressure, es (eq. 12) [kPa]."""
    return (saturation_kpa(air_min_c) + saturation_kpa(air_max_c)) / 2.0


def vapour_from_extremes_kpa(
    air_min_c: Floats, air_max_c: Floats, humidity_min_pct: Floats, humidity_max_pct: Floats
) -> Floats:
    """Return actual vapour pressure, ea, from the extremes of relative humidity (eq. 17) [kPa]."""
    moist = saturation_kpa(air_min_c) * humidity_max_pct
    dry = saturation_kpa(air_max_c) * humidity_min_pct
    return (moist + dry) / 200.0


def vapour_from_mean_kpa(air_min_c: Floats, air_max_c: Floats, humidity_pct: Floats) -> Floats:
    """Return actual vapour pressure, ea, from mean relative humidity (eq. 19) [kPa]."""
    return mean_saturation_kpa(air_min_c, air_max_c) * humidity_pct / 100.0


def wind_at_2m(wind_m_per_s: Floats, height_m: float) -> Floats:
    """Return wind speed 2 m up from that at another height (eq. 47) [m s-1]."""
    return wind_m_per_s * float(4.87 / np.log(67.8 * height_m - 5.42))


def penman_monteith(  # the seven that the equation has
    air_c: Floats,
    net_radiation_mj: Floats,
    soil_heat_mj: Floats,
    wind_2m_m_per_s: Floats,
    *,
    saturation_kpa: Floats,
    vapour_kpa: Floats,
    gamma: Floats,
) -> Floats:
    """Return reference evapotranspiration, ETo (eq. 6) [mm day-1].

    Parameters
    ----------
    air_c
        Mean of the day's extremes [degC].
    net_radiation_mj, soil_heat_mj
        Rn and G [MJ m-2 day-1].
    saturation_kpa, vapour_kpa
        es and ea [kPa].
    gamma
        Psychrometric constant [kPa per degC].
    """
    delta = saturation_slope(air_c)
    heat = 0.408 * delta * (net_radiation_mj - soil_heat_mj)
    dryness = gamma * 900.0 / (air_c + 273.0) * wind_2m_m_per_s * (saturation_kpa - vapour_kpa)
    return (heat + dryness) / (delta + gamma * (1.0 + 0.34 * wind_2m_m_per_s))


def hargreaves(air_min_c: Floats, air_max_c: Floats, extraterrestrial_mj: Floats) -> Floats:
    """Return reference evapotranspiration from temperature alone, ETo (eq. 52) [mm day-1]."""
    mean = (air_min_c + air_max_c) / 2.0
    spread = np.sqrt(np.maximum(air_max_c - air_min_c, 0.0))
    # Ra in mm a day of evaporation: 0.408 mm per MJ m-2 (eq. 20).
    return np.maximum(0.0023 * (mean + 17.8) * spread * 0.408 * extraterrestrial_mj, 0.0)


@dataclass(frozen=True, eq=False)
class ReferenceET:
    """Reference evapotranspiration of a record.

    Attributes
    ----------
    et_mm
        By day [mm], shape (days,); NaN where temperature is not known.
    method
        How each day was found: NONE, PENMAN, PENMAN_NO_SUN or HARGREAVES, shape (days,).
    """

    et_mm: Floats
    method: npt.NDArray[np.int8]

    def notes(self) -> list[str]:
        """Return which methods were used, with their number of days."""
        counts = {code: int((self.method == code).sum()) for code in METHOD_WORDS}
        return [
            f"Reference evapotranspiration by {METHOD_WORDS[code]} ({count} days)."
            for code, count in counts.items()
            if count
        ]


def reference_et(weather: Weather, site: Site) -> ReferenceET:
    """Return reference evapotranspiration for each day, by the best method its columns allow."""
    low, high = weather.air_min_c, weather.air_max_c
    above_air = radiation.extraterrestrial(np.asarray(site.latitude), weather.day_of_year)
    solar = weather.column("solar_mj_per_m2")
    has_sun = np.isfinite(solar)
    solar = np.where(has_sun, solar, radiation.from_temperature(above_air, low, high))
    penman = _penman_day(weather, site, solar, above_air)
    fallback = hargreaves(low, high, above_air)
    can = np.isfinite(penman)
    method = np.where(can, np.where(has_sun, PENMAN, PENMAN_NO_SUN), HARGREAVES)
    method[~np.isfinite(fallback)] = NONE
    return ReferenceET(np.where(can, penman, fallback), method.astype(np.int8))


def _penman_day(weather: Weather, site: Site, solar: Floats, above_air: Floats) -> Floats:
    """Return ETo of days by eq. 6, soil heat neglected (eq. 42); NaN without humidity or wind."""
    low, high = weather.air_min_c, weather.air_max_c
    elevation_m = np.asarray(site.elevation_m or 0.0)
    vapour = vapour_kpa(weather)
    clearness = solar / radiation.clear_sky(above_air, elevation_m)
    net = radiation.net_short(solar) - radiation.net_long(low, high, vapour, clearness)
    found = penman_monteith(
        (low + high) / 2.0,
        net,
        np.zeros(weather.days),
        wind_at_2m(weather.column("wind_m_per_s"), site.wind_height_m),
        saturation_kpa=mean_saturation_kpa(low, high),
        vapour_kpa=vapour,
        gamma=psychrometric(pressure_kpa(elevation_m)),
    )
    # A calm, clear winter day can come out a little below nothing; the reference takes in no dew.
    return np.maximum(found, 0.0)


def vapour_kpa(weather: Weather) -> Floats:
    """Return actual vapour pressure by day, from the best of the humidities that are known.

    Dew point (eq. 14), then the extremes (eq. 17), then the mean (eq. 19); never above saturation.
    """
    low, high = weather.air_min_c, weather.air_max_c
    extremes = vapour_from_extremes_kpa(
        low, high, weather.column("humidity_min_pct"), weather.column("humidity_max_pct")
    )
    mean = vapour_from_mean_kpa(low, high, weather.column("humidity_pct"))
    found = saturation_kpa(weather.column("dew_point_c"))
    for other in (extremes, mean):
        found = np.where(np.isfinite(found), found, other)
    return np.minimum(found, mean_saturation_kpa(low, high))
