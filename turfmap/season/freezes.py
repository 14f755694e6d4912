"""Freezes: when the first and the last came in the years of a record, and how likely by a day.

Probabilities are those of the years themselves: with few years they say little, so the number of
years is always told with them. No curve is fitted.
"""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

from turfmap.foundations.dates import day_words
from turfmap.season.weather import Weather

# A season with more of its nights missing may hide the freeze that counts.
LEAST_KNOWN_SHARE = 0.95
FEWEST_YEARS = 10


@dataclass(frozen=True, eq=False)
class FreezeDays:
    """The freezes of the winters that a record holds whole.

    Attributes
    ----------
    begins
        Month and day on which a winter is taken to begin, midsummer.
    winters
        The year in which each begins, shape (winters,).
    first_d, last_d
        Days from `begins` to the first and the last freeze [d], shape (winters,); NaN where the
        winter had none.
    """

    begins: tuple[int, int]
    winters: npt.NDArray[np.int_]
    first_d: npt.NDArray[np.float64]
    last_d: npt.NDArray[np.float64]

    @property
    def years(self) -> int:
        """How many winters count."""
        return len(self.winters)

    def share_frozen_by(self, day: date) -> float | None:
        """Return the share of winters whose first freeze had come by a day of the year."""
        return self._share(self.first_d <= self._since(day))

    def share_freezing_after(self, day: date) -> float | None:
        """Return the share of winters that froze again after a day of the year."""
        return self._share(self.last_d > self._since(day))

    def first_by_share(self, share: float, *, winter: int) -> date | None:
        """Return the day by which the first freeze had come in a share of the winters.

        The earliest day on which `share_frozen_by` is at least `share`; None if it never was.

        Parameters
        ----------
        winter
            The year in which the winter begins that the day is to be told in.
        """
        return self._quantile(self.first_d, share, winter)

    def last_by_share(self, share: float, *, winter: int) -> date | None:
        """Return the day by which the last freeze was past in a share of the winters."""
        never = np.where(np.isnan(self.last_d), 0.0, self.last_d)
        return self._quantile(never, share, winter)

    def words(self) -> str:
        """Return what the shares rest on."""
        few = "; too few to trust" if self.years < FEWEST_YEARS else ""
        last = int(self.winters.max()) + (self.begins != (1, 1)) if self.years else 0
        span = f", {self.winters.min()} to {last}" if self.years else ""
        return f"{self.years} winters of record{span}{few}"

    def _since(self, day: date) -> int:
        begin = date(day.year, *self.begins)
        if day < begin:
            begin = date(day.year - 1, *self.begins)
        return (day - begin).days

    def _share(self, had: npt.NDArray[np.bool_]) -> float | None:
        return float(had.mean()) if self.years else None

    def _quantile(self, days: npt.NDArray[np.float64], share: float, winter: int) -> date | None:
        needed = max(int(np.ceil(share * self.years - 1e-9)), 1)
        known = np.sort(days[np.isfinite(days)])
        if len(known) < needed:
            return None
        return date(winter, *self.begins) + timedelta(days=int(known[needed - 1]))


def freeze_days(weather: Weather, *, threshold_c: float) -> FreezeDays:
    """Return the first and last freeze of every winter that the record holds whole.

    Parameters
    ----------
    weather
        The record; neither days of a forecast nor those of a typical year count.
    threshold_c
        What is called a freeze: 0 degC for frost-tender tops, -2.2 degC (28 F) for a hard one.
    """
    begins = (1, 1) if weather.site and weather.site.latitude < 0 else (7, 1)
    never_was = weather.is_forecast | weather.is_typical
    low = np.where(never_was, np.nan, weather.air_min_c)
    found = []
    for year in range(weather.first_day.year - 1, weather.first_day.year + weather.days // 365 + 2):
        start = weather.position(date(year, *begins))
        stop = weather.position(date(year + 1, *begins))
        if start < 0 or stop > weather.days:
            continue
        winter = low[start:stop]
        if np.isfinite(winter).mean() >= LEAST_KNOWN_SHARE:
            hits = np.flatnonzero(winter <= threshold_c)
            found.append((year, *((hits[0], hits[-1]) if len(hits) else (np.nan, np.nan))))
    columns = np.array(found, dtype=np.float64).reshape(-1, 3).T
    return FreezeDays(begins, columns[0].astype(int), columns[1], columns[2])


@dataclass(frozen=True)
class NextFreeze:
    """The first freeze from a day on, as far as record and forecast reach.

    Attributes
    ----------
    day
        None if none is seen.
    is_forecast
        Whether it is forecast and not recorded.
    searched_to
        The last night that could be judged; None if there is none.
    """

    day: date | None
    is_forecast: bool
    searched_to: date | None

    def words(self) -> str:
        """Return it in words."""
        if self.day is not None:
            return f"{'forecast for' if self.is_forecast else 'on'} {day_words(self.day)}"
        if self.searched_to is None:
            return "not known"
        return f"none up to {day_words(self.searched_to)}"


def next_freeze(weather: Weather, *, since: date, threshold_c: float) -> NextFreeze:
    """Return the first freeze on or after a day."""
    start = max(weather.position(since), 0)
    low = weather.air_min_c[start:]
    hits, known = np.flatnonzero(low <= threshold_c), np.flatnonzero(np.isfinite(low))
    searched_to = weather.day(start + known[-1]) if len(known) else None
    if not len(hits):
        return NextFreeze(None, False, searched_to)
    place = start + int(hits[0])
    return NextFreeze(weather.day(place), bool(weather.is_forecast[place]), searched_to)
