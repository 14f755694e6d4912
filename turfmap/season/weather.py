"""Daily weather of one place, as columns on an unbroken row of days; a gap is NaN.

The record runs to the day asked about. A forecast may be joined after the last day recorded: its
days are marked, so that reasons can say "forecast".
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Row = Mapping[str, Any]

COLUMNS = ("air_min_c", "air_max_c", "rain_mm", "soil_2in_c", "soil_4in_c")
OTHERS = (
    "humidity_min_pct",
    "humidity_max_pct",
    "humidity_pct",
    "dew_point_c",
    "wind_m_per_s",
    "gust_m_per_s",
    "solar_mj_per_m2",
)


@dataclass(frozen=True)
class Site:
    """Where weather was measured.

    Attributes
    ----------
    latitude, longitude
        [deg], north and east positive.
    elevation_m
        Above the sea [m]; None if not known.
    wind_height_m
        How high the wind was measured [m]; 10 m is the standard of weather stations.
    """

    latitude: float
    longitude: float
    elevation_m: float | None = None
    wind_height_m: float = 10.0


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
    others
        Columns named in `OTHERS` that the record has; see `column`.
    forecast_from
        The first day that is forecast and not recorded; None if there is none.
    site
        Where it was measured; None if not known.
    is_typical
        Whether it is a typical year laid on these days, and not what happened on them.
    """

    first_day: date
    air_min_c: Floats
    air_max_c: Floats
    rain_mm: Floats
    soil_2in_c: Floats
    soil_4in_c: Floats
    others: Mapping[str, Floats] = field(default_factory=dict)
    forecast_from: date | None = None
    site: Site | None = None
    is_typical: bool = False

    @property
    def days(self) -> int:
        """How many days the columns cover."""
        return len(self.air_min_c)

    @property
    def last_day(self) -> date | None:
        """The last day covered, forecast or not; None if there is none."""
        return self.first_day + timedelta(days=self.days - 1) if self.days else None

    @property
    def last_recorded_day(self) -> date | None:
        """The last day covered that is not forecast; None if there is none."""
        if self.forecast_from is None:
            return self.last_day
        before = self.forecast_from - timedelta(days=1)
        return before if before >= self.first_day else None

    @property
    def is_forecast(self) -> npt.NDArray[np.bool_]:
        """Which days are forecast, shape (days,)."""
        marks = np.zeros(self.days, dtype=np.bool_)
        if self.forecast_from is not None:
            marks[max(self.position(self.forecast_from), 0) :] = True
        return marks

    @property
    def day_of_year(self) -> Floats:
        """The number of each day in its year, 1 January being 1, shape (days,)."""
        days = np.datetime64(self.first_day, "D") + np.arange(self.days)
        numbers: Floats = (days - days.astype("datetime64[Y]")).astype(np.float64) + 1.0
        return numbers

    def column(self, name: str) -> Floats:
        """Return one of the columns of `COLUMNS` or `OTHERS`; all NaN if the record lacks it."""
        if name in COLUMNS:
            found: Floats = getattr(self, name)
            return found
        return self.others.get(name, np.full(self.days, np.nan))

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


def weather_until(
    rows: Iterable[Row],
    *,
    as_of: date,
    forecast: Iterable[Row] = (),
    site: Site | None = None,
    is_typical: bool = False,
) -> Weather:
    """Lay daily rows on an unbroken row of days, up to and including a day.

    Parameters
    ----------
    rows
        The record, one mapping a day: ``date`` and any of `COLUMNS` and `OTHERS`; None or NaN
        where not measured. The order is irrelevant.
    as_of
        Later days of the record are left out: what is due on a day never depends on what was
        measured after it.
    forecast
        Rows of the same kind; those after the last day recorded are joined to it.
    site
        Where it was measured.
    is_typical
        Whether the rows are those of a typical year: their rain is left out.

    Returns
    -------
    Weather
        With no days if no row of the record lies on or before `as_of` and there is no forecast.
    """
    no_rain: dict[str, Any] = {"rain_mm": None} if is_typical else {}
    by_day = {row["date"]: {**row, **no_rain} for row in rows if row["date"] <= as_of}
    last = max(by_day, default=None)
    ahead = {row["date"]: row for row in forecast if last is None or row["date"] > last}
    first = min([*by_day, *ahead], default=as_of)
    count = (max([*by_day, *ahead]) - first).days + 1 if by_day or ahead else 0
    columns = {name: np.full(count, np.nan) for name in (*COLUMNS, *OTHERS)}
    for day, row in (by_day | ahead).items():
        for name, column in columns.items():
            value = row.get(name)
            if value is not None:
                column[(day - first).days] = value
    others = {name: values for name in OTHERS if np.isfinite(values := columns.pop(name)).any()}
    return Weather(
        first,
        **columns,
        others=others,
        forecast_from=min(ahead, default=None),
        site=site,
        is_typical=is_typical,
    )
