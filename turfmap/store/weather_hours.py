"""Hours made into days: a day counts for a quantity only if enough of its hours were measured."""

from collections.abc import Callable, Sequence
from datetime import date
from typing import Any

from turfmap.store.weather_columns import DAILY, MEGAJOULES_PER_WATT_DAY

HOURS_ENOUGH = 20
HOURS_SAID = f"a day needs {HOURS_ENOUGH} of its hours"

Row = dict[str, Any]
Reduce = Callable[[Sequence[float]], float]


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values)


# Each daily column: from which hourly one, and how.
REDUCTIONS: dict[str, tuple[str, Reduce]] = {
    "air_min_c": ("air_c", min),
    "air_max_c": ("air_c", max),
    "rain_mm": ("rain_mm", sum),
    "soil_2in_c": ("soil_2in_c", _mean),
    "soil_4in_c": ("soil_4in_c", _mean),
    "humidity_min_pct": ("humidity_pct", min),
    "humidity_max_pct": ("humidity_pct", max),
    "humidity_pct": ("humidity_pct", _mean),
    "dew_point_c": ("dew_point_c", _mean),
    "wind_m_per_s": ("wind_m_per_s", _mean),
    "gust_m_per_s": ("gust_m_per_s", max),
    "solar_mj_per_m2": ("solar_w_per_m2", lambda watts: _mean(watts) * MEGAJOULES_PER_WATT_DAY),
}


def days_of(hours: Sequence[Row]) -> tuple[list[Row], list[date]]:
    """Return hourly rows as daily ones.

    Rain of a day with hours missing is too little, and extremes may be missed, so a quantity
    measured in fewer than `HOURS_ENOUGH` hours of a day is None on that day.

    Parameters
    ----------
    hours
        Rows with ``station``, ``time`` and the columns of `turfmap.store.weather_columns.HOURLY`;
        at most one an hour.

    Returns
    -------
    rows : list of dict
        ``station``, ``date`` and the columns of `turfmap.store.weather_columns.DAILY`.
    short : list of datetime.date
        Days on which something was measured, but not in enough hours.
    """
    by_day: dict[tuple[str | None, date], list[Row]] = {}
    for row in hours:
        by_day.setdefault((row["station"], row["time"].date()), []).append(row)
    rows, short = [], []
    for (station, day), mine in by_day.items():
        row, is_short = _day(mine)
        rows.append({"station": station, "date": day, **row})
        if is_short:
            short.append(day)
    return rows, sorted(set(short))


def _day(hours: Sequence[Row]) -> tuple[Row, bool]:
    row: Row = {quantity.column: None for quantity in DAILY}
    is_short = False
    for column, (source, reduce) in REDUCTIONS.items():
        values = [hour[source] for hour in hours if hour[source] is not None]
        if len(values) >= HOURS_ENOUGH:
            row[column] = float(reduce(values))
        elif values:
            is_short = True
    return row, is_short
