"""Units: SI inside, the trade's own at the edge.

The factors below are exact by definition. Text that a person types ("25ft", "6 mph") is read by
`pint`, with the international acre put in place of its US survey acre (4 parts in a million
larger).

References
----------
NIST Special Publication 811 (2008), appendix B.8: foot 0.3048 m, inch 25.4 mm; acre 43,560
square feet; mile per hour 0.44704 m/s. From memory.
"""

import math
import re
from functools import lru_cache
from typing import TYPE_CHECKING

from turfmap.foundations.errors import input_fault

if TYPE_CHECKING:
    from pint import UnitRegistry

METRES_PER_FOOT = 0.3048
METRES_PER_INCH = 0.0254
SQUARE_METRES_PER_SQUARE_FOOT = METRES_PER_FOOT**2
SQUARE_FEET_PER_ACRE = 43_560.0
SQUARE_METRES_PER_ACRE = SQUARE_FEET_PER_ACRE * SQUARE_METRES_PER_SQUARE_FOOT
MILLIMETRES_PER_INCH = 25.4
METRES_PER_SECOND_PER_MPH = 0.44704

# Less of it would be told as 0.00 or 0.01.
LEAST_ACRES_TOLD = 0.01
# No rule of the trade reaches further; a longer one is a slip of the keyboard.
LONGEST_DISTANCE_M = 10_000.0

# A comma parts thousands and nothing else: "7,6" is not 76, and "0,125" is not 125.
_NUMBER = re.compile(r"[-+]?(?:(?:[1-9][0-9]{0,2}(?:,[0-9]{3})+|[0-9]+)(?:\.[0-9]*)?|\.[0-9]+)")


@lru_cache(maxsize=1)
def registry() -> "UnitRegistry[float]":
    """Return the unit registry, with the international acre."""
    from pint import UnitRegistry  # noqa: PLC0415  (slow to import; most runs never need it)

    units: UnitRegistry[float] = UnitRegistry()
    units.define("acre = 43560 * foot ** 2 = _")
    return units


def metres(text: str, *, record: str) -> float:
    """Read a distance such as ``25ft``, ``7.6 m`` or ``10 yd``.

    Parameters
    ----------
    text
        A number with a unit of length.
    record
        What is being read, for the sentence that refuses it.

    Returns
    -------
    float
        The distance [m], from 0 to 10,000.

    Raises
    ------
    InputFaultsError
        If the text is not a number with a unit of length, or out of range.
    """
    distance_m = quantity(text, "metre", record=record, example="25ft or 7.6m")
    if not 0 <= distance_m <= LONGEST_DISTANCE_M:
        raise input_fault(
            f"{text!r} is not between 0 and {LONGEST_DISTANCE_M:,.0f} m",
            "give a distance in that range",
            record=record,
        )
    return distance_m


def quantity(text: str, unit: str, *, record: str, example: str) -> float:
    """Read a number with a unit and return it in `unit`.

    Raises
    ------
    InputFaultsError
        If the text is not a finite number with a unit of the same kind as `unit`.
    """
    mend = f"write a number with its unit, such as {example}"
    # pint evaluates arithmetic ("9**9**9"): only a plain number and one unit may reach it.
    number_text, unit_text = _number_and_unit(text)
    if not number_text or not unit_text.replace(" ", "").isalpha():
        raise input_fault(f"{text!r} is not a number with a unit", mend, record=record)
    value_of = number(number_text, record=record)
    from pint.errors import PintError  # noqa: PLC0415

    units = registry()
    try:
        value = units.Quantity(value_of, units.parse_units(unit_text)).to(unit).magnitude
    except (PintError, AttributeError, TypeError, ValueError):
        raise input_fault(f"{text!r} is not understood", mend, record=record) from None
    return float(value)


def number(text: str, *, record: str) -> float:
    """Read a plain number such as ``7.6`` or ``1,250.5``; commas stand only between thousands.

    Raises
    ------
    InputFaultsError
        If the text is no such number, such as ``7,6``, or is too large to be kept.
    """
    plain = text.strip()
    if not _NUMBER.fullmatch(plain) or not math.isfinite(float(plain.replace(",", ""))):
        raise input_fault(
            f"{text[:60]!r} is not a number",
            "write a decimal point, and commas only between thousands, as in 1,250.5",
            record=record,
        )
    return float(plain.replace(",", ""))


def _number_and_unit(text: str) -> tuple[str, str]:
    stripped = text.strip()
    digits = next((i for i, c in enumerate(stripped) if c not in "+-0123456789.,"), len(stripped))
    return stripped[:digits], stripped[digits:].strip()


def square_feet(area_m2: float) -> float:
    """Return an area [m2] in square feet."""
    return area_m2 / SQUARE_METRES_PER_SQUARE_FOOT


def acres(area_m2: float) -> float:
    """Return an area [m2] in international acres."""
    return area_m2 / SQUARE_METRES_PER_ACRE


def feet(distance_m: float) -> float:
    """Return a distance [m] in international feet."""
    return distance_m / METRES_PER_FOOT


def celsius(temperature_f: float) -> float:
    """Return a temperature [degF] in degrees Celsius."""
    return (temperature_f - 32.0) / 1.8


def fahrenheit(temperature_c: float) -> float:
    """Return a temperature [degC] in degrees Fahrenheit."""
    return temperature_c * 1.8 + 32.0


def area_words(area_m2: float) -> str:
    """Return an area as the trade says it: ``5,280 sq ft (0.12 ac)``, acres from 0.01 on."""
    in_acres = f" ({acres(area_m2):,.2f} ac)" if acres(area_m2) >= LEAST_ACRES_TOLD else ""
    return f"{square_feet(area_m2):,.0f} sq ft{in_acres}"


def distance_words(distance_m: float) -> str:
    """Return a distance as the trade says it: ``25 ft``, with one decimal only if it has one."""
    distance_ft = round(feet(distance_m), 1)
    return f"{distance_ft:,.0f} ft" if distance_ft == int(distance_ft) else f"{distance_ft:,.1f} ft"
