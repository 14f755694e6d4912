"""Daily weather of one place, as columns on an unbroken row of days; a gap is NaN."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

COLUMNS = ("air_min_c", "air_max_c", "rain_mm", "soil_2in_c", "soil_4in_c")


@dataclass(frozen=True, eq=False)
class Weather:
    """Daily values from `first_day` on.

    Attributes
    ----------
    first_day
        The day of the first value.
    air_min_c, air_max_c
        Lowest and highest air temperature [degC], shape (days,).
    rain_mm
        Rain [mm].
    soil_2in_c, soil_4in_c
        Mean soil temperature 2 and 4 inches down [degC].
    """

    first_day: date
    air_min_c: Floats
    air_max_c: Floats
    rain_mm: Floats
    soil_2in_c: Floats
    soil_4in_c: Floats

    @property
    def days(self) -> int:
        """How many days the columns cover."""
        return len(self.air_min_c)

    @property
    def last_day(self) -> date | None:
        """The last day covered; None if there is none."""
        return self.first_day + timedelta(days=self.days - 1) if self.days else None

    def position(self, day: date) -> int:
        """Return where a day stands in the columns; it may lie outside them."""
        return (day - self.first_day).days

    def day(self, position: int) -> date:
        """Return the day at a position of the columns."""
        return self.first_day + timedelta(days=int(position))

    def last(self, column: Floats, day: date, days: int) -> Floats:
        """Return the last `days` values of a column up to and including `day`; gaps are NaN."""
        found = np.full(days, np.nan)
        start = self.position(day) - days + 1
        here = np.arange(start, start + days)
        inside = (here >= 0) & (here < self.days)
        found[inside] = column[here[inside]]
        return found


def weather_until(rows: Iterable[Mapping[str, Any]], *, as_of: date) -> Weather:
    """Lay daily rows on an unbroken row of days, up to and including a day.

    Parameters
    ----------
    rows
        One mapping a day: ``date`` and any of `COLUMNS`; None or NaN where not measured. The
        order is irrelevant.
    as_of
        Later days are left out: what is due on a day never depends on the days after it.

    Returns
    -------
    Weather
        With no days if no row lies on or before `as_of`.
    """
    by_day = {row["date"]: row for row in rows if row["date"] <= as_of}
    first = min(by_day, default=as_of)
    count = (max(by_day) - first).days + 1 if by_day else 0
    columns = {name: np.full(count, np.nan) for name in COLUMNS}
    for day, row in by_day.items():
        for name in COLUMNS:
            value = row.get(name)
            if value is not None:
                columns[name][(day - first).days] = value
    return Weather(first, **columns)
