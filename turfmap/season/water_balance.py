"""Water in the root zone, day by day, as FAO-56 chapter 8 keeps the account.

Depletion Dr is how many millimetres the root zone lacks of all it can hold against drainage. The
account of a lawn has to start somewhere that nobody measured: so it is kept twice, once from a full
root zone and once from an empty one. Where both agree, the record decides; where they do not,
nobody knows.

References
----------
.. [1] FAO Irrigation and Drainage Paper 56 (1998), chapter 8; equation numbers stand beside each
   step. Checked against its examples 36 and 37 in ``tests/published``. Runoff and capillary rise
   are left out: turf on level ground. Rain is counted early in the day, and the stress of a day
   comes from the depletion at the end of the day before it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from turfmap.foundations.definitions import table
from turfmap.foundations.units import MILLIMETRES_PER_INCH
from turfmap.season.weather import Floats, Weather

INCHES_PER_FOOT = 12.0
# Rain under this share of the day's ETo dries off again without reaching roots.
LEAST_RAIN_SHARE = 0.2


@dataclass(frozen=True, eq=False)
class RootZone:
    """What root zones hold, each attribute of shape () or (cells,).

    Attributes
    ----------
    total_mm
        Total available water, TAW [mm].
    easy_share
        Share of it that is used before growth suffers, p; in the tables at 5 mm a day.
    """

    total_mm: Floats
    easy_share: Floats

    @property
    def easy_mm(self) -> Floats:
        """Readily available water, RAW (eq. 83) [mm]."""
        return self.easy_share * self.total_mm


def total_available_mm(
    field_capacity: Floats, wilting_point: Floats, root_depth_m: Floats
) -> Floats:
    """Return total available water, TAW (eq. 82) [mm], from soil water in m3 per m3."""
    return 1000.0 * (field_capacity - wilting_point) * root_depth_m


def easy_share(at_5_mm: Floats, crop_et_mm: Floats) -> Floats:
    """Return the share p under a day's demand, from that at 5 mm a day (below table 22)."""
    return np.clip(at_5_mm + 0.04 * (5.0 - crop_et_mm), 0.1, 0.8)


def stress(depletion_mm: Floats, zone: RootZone) -> Floats:
    """Return the share of its demand that the grass still gets, Ks (eq. 84); 1 is no stress."""
    left = (zone.total_mm - depletion_mm) / ((1.0 - zone.easy_share) * zone.total_mm)
    return np.clip(left, 0.0, 1.0)


@dataclass(frozen=True, eq=False)
class Account:
    """Depletion of root zones over days, each of shape (days,) or (days, cells).

    Attributes
    ----------
    wettest_mm, driest_mm
        Depletion at the end of each day, Dr [mm], at the least and the most it can be.
    easy_mm
        What can be used before growth suffers, RAW, under each day's demand [mm]; NaN where that
        is not known.
    """

    wettest_mm: Floats
    driest_mm: Floats
    easy_mm: Floats

    @property
    def is_stressed(self) -> np.ndarray:
        """Days at whose end growth surely suffers: even the wettest is past RAW."""
        stressed: np.ndarray = self.wettest_mm > self.easy_mm
        return stressed

    @property
    def may_be_stressed(self) -> np.ndarray:
        """Days at whose end growth may suffer, for all that is known."""
        maybe: np.ndarray = ~(self.driest_mm <= self.easy_mm)
        return maybe


def account(crop_et_mm: Floats, wetting_mm: Floats, zone: RootZone) -> Account:
    """Keep the account of root zones of which nothing is known at the start.

    Parameters
    ----------
    crop_et_mm
        What the turf would use if well watered, ETc [mm], shape (days,) or (days, cells).
    wetting_mm
        Rain and irrigation that count, see `counting_rain` [mm], same shape.
    zone
        What the root zones hold.

    Notes
    -----
    On a day of which either is not known (NaN) anything may have happened: the account begins
    again.
    """
    empty = np.broadcast_to(np.asarray(zone.total_mm, dtype=np.float64), crop_et_mm.shape[1:])
    wet, dry = np.zeros_like(empty), empty.copy()
    wettest, driest = np.empty_like(crop_et_mm), np.empty_like(crop_et_mm)
    known = np.isfinite(crop_et_mm) & np.isfinite(wetting_mm)
    share = easy_share(zone.easy_share, crop_et_mm)
    for day in range(len(crop_et_mm)):
        today = RootZone(zone.total_mm, share[day])
        wet = day_end(wet, crop_et_mm[day], wetting_mm[day], today)
        dry = day_end(dry, crop_et_mm[day], wetting_mm[day], today)
        wet, dry = np.where(known[day], wet, 0.0), np.where(known[day], dry, empty)
        wettest[day], driest[day] = wet, dry
    return Account(wettest, driest, share * zone.total_mm)


def day_end(depletion_mm: Floats, crop_et_mm: Floats, wetting_mm: Floats, zone: RootZone) -> Floats:
    """Return depletion at the end of a day (eq. 85), never beyond empty or full [mm]."""
    used = stress(depletion_mm, zone) * crop_et_mm
    wetted = np.maximum(depletion_mm - wetting_mm, 0.0)
    return np.minimum(wetted + used, zone.total_mm)


def counting_rain(rain_mm: Floats, reference_et_mm: Floats) -> Floats:
    """Return the rain that reaches roots: none on days with less than a fifth of ETo [mm]."""
    return np.where(rain_mm < LEAST_RAIN_SHARE * reference_et_mm, 0.0, rain_mm)


def crop_coefficients(weather: Weather, turf_season: str) -> Floats:
    """Return the turf coefficient Kc of each day from the monthly table, shape (days,).

    Parameters
    ----------
    turf_season
        ``warm`` or ``cool``.
    """
    by_month = np.full(13, np.nan)
    for row in table("crop_coefficient").rows:
        if row["season"] == turf_season:
            by_month[row["month"]] = row["coefficient"]
    days = np.datetime64(weather.first_day, "D") + np.arange(weather.days)
    months = days.astype("datetime64[M]").astype(int) % 12 + 1
    coefficients: Floats = by_month[months]
    return coefficients


def turf_root_zones(soil: str | None, turf_season: str) -> tuple[RootZone, RootZone]:
    """Return the root zone of a lawn that holds least by the tables, and the one that holds most.

    Parameters
    ----------
    soil
        A row of the table soil; if None (not known), the least and the most of all of them.
    turf_season
        ``warm`` or ``cool``.
    """
    soils: Mapping[Any, Mapping[str, Any]] = table("soil").by("soil")
    rows = list(soils.values()) if soil is None else [soils[soil]]
    roots = table("root_zone").by("season")[turf_season]
    share = np.asarray(roots["easy_share"])
    least_in_per_ft = min(row["available_low_in_per_ft"] for row in rows)
    most_in_per_ft = max(row["available_high_in_per_ft"] for row in rows)
    lean_in = least_in_per_ft * roots["depth_low_in"] / INCHES_PER_FOOT
    rich_in = most_in_per_ft * roots["depth_high_in"] / INCHES_PER_FOOT
    lean, rich = (np.asarray(total_in * MILLIMETRES_PER_INCH) for total_in in (lean_in, rich_in))
    return RootZone(lean, share), RootZone(rich, share)


@dataclass(frozen=True, eq=False)
class LawnWater:
    """The account of a lawn, with the least and the most that its root zone may hold.

    Attributes
    ----------
    lean, rich
        The account of each.
    """

    lean: Account
    rich: Account

    @property
    def is_stressed(self) -> np.ndarray:
        """Days at whose end growth surely suffers, however much the root zone holds."""
        return self.rich.is_stressed

    @property
    def may_be_stressed(self) -> np.ndarray:
        """Days at whose end growth may suffer, for all that is known."""
        return self.lean.may_be_stressed


def lawn_water(
    weather: Weather,
    reference_et_mm: Floats,
    *,
    turf_season: str,
    soil: str | None,
    irrigation_mm: Floats | None = None,
) -> LawnWater:
    """Keep the account of a lawn.

    Parameters
    ----------
    reference_et_mm
        ETo by day, see `turfmap.season.evapotranspiration.reference_et` [mm], shape (days,).
    turf_season, soil
        See `turf_root_zones`.
    irrigation_mm
        By day [mm], shape (days,); none if None.
    """
    watered = np.zeros(weather.days) if irrigation_mm is None else irrigation_mm
    demand_mm = crop_coefficients(weather, turf_season) * reference_et_mm
    wetting_mm = counting_rain(weather.rain_mm, reference_et_mm) + watered
    lean, rich = (
        account(demand_mm, wetting_mm, zone) for zone in turf_root_zones(soil, turf_season)
    )
    return LawnWater(lean, rich)
