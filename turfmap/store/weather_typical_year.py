"""Typical meteorological years (TMY3, EPW), laid on a calendar year that the user names.

They are months of different years put in a row: a climate, not what happened. pvlib reads them.
Their rain is not fit for use (a year of 8 m of it has been met), so it is not read.
"""

import io
import warnings
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

from turfmap.foundations.checks import as_text
from turfmap.foundations.errors import input_fault
from turfmap.store.weather_columns import HOURLY

if TYPE_CHECKING:
    import pandas as pd

# Their names in pvlib, by ours. Wind is measured 10 m up.
_TAKEN = {
    "air_c": "temp_air",
    "dew_point_c": "temp_dew",
    "humidity_pct": "relative_humidity",
    "wind_m_per_s": "wind_speed",
    "solar_w_per_m2": "ghi",
}
_TMY3_SECOND_LINE = "Date (MM/DD/YYYY),Time (HH:MM),"
FEWEST_HOURS = 8_700  # of the 8,760 of a year
_EPW_FIRST_WORD = "LOCATION,"


@dataclass(frozen=True)
class TypicalYear:
    """A typical year on a calendar.

    Attributes
    ----------
    station
        Its name.
    place
        ``latitude, longitude, elevation_m``.
    hours
        Rows with ``station, time`` (start of the hour, standard time) and the columns of
        `turfmap.store.weather_columns.HOURLY`.
    notes
        What must be said of it.
    """

    station: str
    place: dict[str, float]
    hours: list[dict[str, Any]]
    notes: list[str]


def is_typical_year(text: str) -> bool:
    """Whether a text is a TMY3 or EPW file, by its first lines."""
    first, _, rest = text.partition("\n")
    return first.startswith(_EPW_FIRST_WORD) or rest.startswith(_TMY3_SECOND_LINE)


def read_typical_year(path: Path, text: str, *, year: int | None) -> TypicalYear:
    """Read a typical year and lay it on a calendar year.

    Parameters
    ----------
    year
        The calendar year; a leap year has no 29 February then.

    Raises
    ------
    InputFaultsError
        If no year was given, pvlib is not there, or the file is not whole.
    """
    file = str(path)
    if year is None:
        raise input_fault(
            "it is a typical year, which belongs to no calendar year",
            "name the year that it is to stand for, with --set year=YYYY",
            file=file,
        )
    if find_spec("pvlib") is None:
        raise input_fault(
            "typical years are read by pvlib, which is not installed",
            "install turfmap with its extra: pip install turfmap[weather]",
            file=file,
        )
    is_epw = text.startswith(_EPW_FIRST_WORD)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what is odd about it shows in the hours, or fails
            frame, about = _read(text, is_epw=is_epw)
        place = {
            "latitude": float(about["latitude"]),
            "longitude": float(about["longitude"]),
            "elevation_m": float(about["altitude"]),
        }
        station = as_text(about.get("city") or about.get("Name")).strip(' "')[:200]
        hours = _hours(frame, station, year)
        if len(hours) < FEWEST_HOURS:
            raise ValueError(f"{len(hours)} hours")
    except (ValueError, KeyError, IndexError, TypeError, AttributeError) as error:
        raise input_fault(
            f"it is not a whole typical year ({' '.join(str(error)[:100].split())})",
            "get it again",
            file=file,
        ) from None
    return TypicalYear(
        station,
        place,
        hours,
        [
            f"{station} is a typical year laid on {year}: months of different years, not what"
            " happened. It has no rain that can be used."
        ],
    )


def _read(text: str, *, is_epw: bool) -> "tuple[pd.DataFrame, dict[str, Any]]":
    """Return the hours, each named by its start, and what the head of the file says."""
    import pandas as pd  # noqa: PLC0415  (slow to import; most runs never need it)
    from pvlib import iotools  # noqa: PLC0415

    if is_epw:
        frame, about = iotools.read_epw(io.StringIO(text))
    else:
        frame, about = iotools.read_tmy3(io.StringIO(text), map_variables=True)
        # TMY3 names an hour by its end: 24:00 belongs to the day that it ends.
        frame.index -= pd.Timedelta(hours=1)
    return frame, about


def _hours(frame: "pd.DataFrame", station: str, year: int) -> list[dict[str, Any]]:
    ranges = {quantity.column: (quantity.low, quantity.high) for quantity in HOURLY}
    values = frame[list(_TAKEN.values())].to_numpy(float).tolist()
    nothing = {quantity.column: None for quantity in HOURLY}
    hours = []
    for stamp, row in zip(frame.index, values, strict=True):
        if (stamp.month, stamp.day) == (2, 29):
            continue
        time = stamp.to_pydatetime().replace(tzinfo=None, year=year, minute=0)
        known = {
            name: value
            for name, value in zip(_TAKEN, row, strict=True)
            # What stands for "missing" there (99.9, 999, -9900) is in no range, nor is NaN.
            if ranges[name][0] <= value <= ranges[name][1]
        }
        hours.append({"station": station, "time": time, **nothing, **known})
    return sorted(hours, key=lambda hour: hour["time"])
