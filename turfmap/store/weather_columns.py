"""The columns of weather files: what they are called, in which units, and what cannot be.

A unit is part of a column's name (``wind_mph``, ``rain_in``). Nothing is guessed from the figures.

References
----------
Miles and inches are exact by definition; the knot is 1852 m an hour. One watt for a day is
0.0864 MJ. The ranges are our own: wider than any record on land that we know of, from memory,
but for the gust, where 120 mph is taken as a broken sensor and not as a day of work.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from turfmap.foundations.units import METRES_PER_SECOND_PER_MPH, MILLIMETRES_PER_INCH, celsius

SECONDS_PER_HOUR = 3600.0
MEGAJOULES_PER_WATT_DAY = 0.0864

ToSI = Callable[[float], float]


@dataclass(frozen=True)
class Quantity:
    """A quantity: its column here, its columns there with what makes SI of them, its range.

    Attributes
    ----------
    column
        Its name here, with its unit.
    theirs
        The names that a file may give it, each with what turns a figure into the unit of `column`.
    low, high
        The range that is possible, in the unit of `column`.
    """

    column: str
    theirs: Mapping[str, ToSI]
    low: float
    high: float


def _temperature(name: str, low: float = -60.0, high: float = 60.0) -> Quantity:
    return Quantity(f"{name}_c", {f"{name}_f": celsius, f"{name}_c": float}, low, high)


def _times(factor: float) -> ToSI:
    return lambda value: value * factor


def _speed(name: str, high_mph: float) -> Quantity:
    """Return a wind speed, from nothing to a speed [mph] that no working station measures."""
    theirs: dict[str, ToSI] = {
        f"{name}_mph": _times(METRES_PER_SECOND_PER_MPH),
        f"{name}_m_per_s": float,
        f"{name}_km_per_h": _times(1000.0 / SECONDS_PER_HOUR),
        f"{name}_knots": _times(1852.0 / SECONDS_PER_HOUR),
    }
    return Quantity(f"{name}_m_per_s", theirs, 0.0, high_mph * METRES_PER_SECOND_PER_MPH)


def _share(name: str) -> Quantity:
    # A sensor in fog shows a little over 100 %.
    return Quantity(f"{name}_pct", {f"{name}_pct": lambda pct: min(pct, 100.0)}, 0.0, 105.0)


_RAIN: Mapping[str, ToSI] = {"rain_in": _times(MILLIMETRES_PER_INCH), "rain_mm": float}
_SOIL = (_temperature("soil_2in", -40.0, 70.0), _temperature("soil_4in", -40.0, 70.0))
_WIND = (_speed("wind", 80.0), _speed("gust", 120.0))

DAILY = (
    _temperature("air_min"),
    _temperature("air_max"),
    Quantity("rain_mm", _RAIN, 0.0, 2000.0),
    *_SOIL,
    _share("humidity_min"),
    _share("humidity_max"),
    _share("humidity"),
    _temperature("dew_point", -70.0, 40.0),
    *_WIND,
    Quantity(
        "solar_mj_per_m2",
        {"solar_mj_per_m2": float, "solar_w_per_m2": _times(MEGAJOULES_PER_WATT_DAY)},
        0.0,
        45.0,
    ),
)

HOURLY = (
    _temperature("air"),
    Quantity("rain_mm", _RAIN, 0.0, 310.0),
    *_SOIL,
    _share("humidity"),
    _temperature("dew_point", -70.0, 40.0),
    *_WIND,
    # A pyranometer reads a few watts below nothing at night.
    Quantity("solar_w_per_m2", {"solar_w_per_m2": lambda watts: max(watts, 0.0)}, -20.0, 1500.0),
)

# Where a station stands, if its file says so.
PLACE = (
    Quantity("latitude", {"latitude": float}, -90.0, 90.0),
    Quantity("longitude", {"longitude": float}, -180.0, 180.0),
    Quantity("elevation_m", {"elevation_m": float, "elevation_ft": _times(0.3048)}, -450.0, 6000.0),
)

# Figures that stations write where nothing was measured. They are read so only where the figure
# is impossible as a measurement.
NOT_MEASURED = frozenset({-9999.0, -999.0, -99999.0, -99.0, -99.9, 999.9, 9999.0, 9999.9, 99999.0})


def names(quantities: tuple[Quantity, ...]) -> list[str]:
    """Return every name that a file may give these quantities."""
    return [name for quantity in quantities for name in quantity.theirs]
