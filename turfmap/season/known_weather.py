"""The weather of one cell as it was known on each of the days asked about."""

from collections.abc import Callable, Hashable
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

from turfmap.season.weather import Floats, Weather

Days = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]
Made = TypeVar("Made")


class KnownWeather:
    """A record of weather, and the days on which it is looked at.

    Attributes
    ----------
    weather
        The record; on each day only what lies up to that day is known.
    days
        The days asked about, as ordinals, shape (days,).
    place
        The position of each day in the record; it may lie outside, shape (days,).
    known_to
        The position of the last day of which anything is known on it: itself, or the end of the
        forecast once all that was recorded is past, shape (days,).
    """

    def __init__(self, weather: Weather, days: Days) -> None:
        self.weather = weather
        self.days = days
        self.place = days - weather.first_day.toordinal()
        recorded = weather.days - int(weather.is_forecast.sum())
        ahead = (self.place >= recorded - 1) & (weather.days > recorded)
        self.known_to = np.where(ahead, np.maximum(self.place, weather.days - 1), self.place)
        self._made: dict[Hashable, Any] = {}

    def once(self, key: Hashable, make: Callable[[], Made]) -> Made:
        """Return what was made under a key, making it if it is new."""
        if key not in self._made:
            self._made[key] = make()
        made: Made = self._made[key]
        return made

    def has_record(self) -> Flags:
        """Return the days by which anything was recorded."""
        return (self.place >= 0) & (self.weather.days > 0)

    def total(self, name: str, days: int) -> tuple[Floats, Flags]:
        """Return the sum of a column over the last days, and whether none of them is a gap.

        Parameters
        ----------
        name
            A column of the record.
        days
            How many days are looked back, the day itself included.
        """
        return self.once(("total", name, days), lambda: self._total(name, days))

    def _total(self, name: str, days: int) -> tuple[Floats, Flags]:
        values = self._laid_out(name, days)
        sums: Floats = np.nansum(values, axis=1)
        return sums, self._is_whole(values)

    def coming(self, name: str, days: int) -> Floats:
        """Return the sum of a column forecast for the next days; what is not forecast adds none."""
        return self.once(("coming", name, days), lambda: self._coming(name, days))

    def _coming(self, name: str, days: int) -> Floats:
        values = np.where(self.weather.is_forecast, getattr(self.weather, name), 0.0)
        at = self.place[:, None] + np.arange(1, days + 1)
        inside = (at >= 0) & (at <= self.known_to[:, None]) & (at < self.weather.days)
        found = np.zeros(at.shape)
        found[inside] = np.nan_to_num(values)[at[inside]]
        sums: Floats = found.sum(axis=1)
        return sums

    def highest(self, name: str, days: int) -> tuple[Floats, Flags]:
        """Return the highest value of the last days (-inf if none), and whether none is a gap."""
        return self.once(("highest", name, days), lambda: self._highest(name, days))

    def _highest(self, name: str, days: int) -> tuple[Floats, Flags]:
        values = self._laid_out(name, days)
        top: Floats = np.where(np.isfinite(values), values, -np.inf).max(axis=1)
        return top, self._is_whole(values)

    @staticmethod
    def _is_whole(values: Floats) -> Flags:
        whole: Flags = np.logical_and.reduce(np.isfinite(values), axis=1)
        return whole

    def _laid_out(self, name: str, days: int) -> Floats:
        """Return the last values up to each day, shape (days asked about, days looked back).

        How warm a typical year was is not what happened: of its last days that is not known. Its
        rain was left out; what is supposed to have fallen counts.
        """
        column: Floats = getattr(self.weather, name)
        at = self.place[:, None] + np.arange(1 - days, 1)
        inside = (at >= 0) & (at < self.weather.days)
        if self.weather.is_typical and name != "rain_mm":
            inside = np.zeros_like(inside)
        found = np.full(at.shape, np.nan)
        found[inside] = column[at[inside]]
        return found
