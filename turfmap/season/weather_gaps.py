"""Gaps in a record, filled only when the user names how, and told."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from turfmap.season.weather import COLUMNS, OTHERS, Floats, Weather

# Rain does not run in a straight line from one day to another.
FILLED = tuple(name for name in (*COLUMNS, *OTHERS) if name != "rain_mm")


@dataclass(frozen=True)
class LinearFill:
    """Straight lines over gaps, the one method there is.

    Attributes
    ----------
    most_days
        Longer gaps stay [d].
    """

    most_days: int

    @property
    def words(self) -> str:
        """The method, as told in results."""
        return f"straight lines over gaps of at most {self.most_days} days"


def filled(weather: Weather, method: LinearFill) -> tuple[Weather, list[str]]:
    """Return weather with its short gaps filled, rain excepted, and what to say of it.

    A gap at either end has no line through it and stays.
    """
    counts = {}
    columns: dict[str, Floats] = {}
    for name in FILLED:
        columns[name], count = _lined(weather.column(name), method.most_days)
        if count:
            counts[name] = count
    if not counts:
        return weather, []
    whole = replace(
        weather,
        air_min_c=columns["air_min_c"],
        air_max_c=columns["air_max_c"],
        soil_2in_c=columns["soil_2in_c"],
        soil_4in_c=columns["soil_4in_c"],
        others={name: columns[name] for name in weather.others},
    )
    few = ", ".join(f"{count} of {name}" for name, count in counts.items())
    return whole, [f"Days filled by {method.words}: {few}. They were not measured."]


def _lined(values: Floats, most_days: int) -> tuple[Floats, int]:
    known = np.flatnonzero(np.isfinite(values))
    missing = np.flatnonzero(~np.isfinite(values))
    if len(known) < 2 or not len(missing):
        return values, 0
    after = np.searchsorted(known, missing)
    inside = (after > 0) & (after < len(known))
    missing, after = missing[inside], after[inside]
    length_d = known[after] - known[after - 1] - 1
    short: npt.NDArray[np.intp] = missing[length_d <= most_days]
    out = values.copy()
    out[short] = np.interp(short, known, values[known])
    return out, len(short)
