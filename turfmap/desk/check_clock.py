"""A time that tells its offset from UTC must be by a clock of the place."""

from datetime import datetime, timedelta

import numpy as np

from turfmap.days.conditions import Conditions
from turfmap.desk.place import Place
from turfmap.foundations.errors import Fault, InputFaultsError

DEGREES_PER_HOUR = 15.0
# A place's clock is seldom behind the sun, and summer time and wide zones put it ahead.
BEHIND_H, AHEAD_H = 1.0, 2.5


def refuse_other_clock(conditions: Conditions, place: Place) -> None:
    """Refuse times by a clock that the place cannot have.

    Visits, forecasts and rules go by the place's own clock: 08:00 by another may be hours off.

    Raises
    ------
    InputFaultsError
        With each such time.
    """
    times = {"--on": conditions.on, "--school-notice": conditions.school_notice_on}
    bounds = np.concatenate([place.zones.bounds, place.properties.bounds])
    longitude = np.nanmean(bounds[:, [0, 2]]) if np.isfinite(bounds).any() else np.nan
    faults = [
        Fault("", record, f"{when.isoformat()} is by a clock that this place does not have", mend)
        for record, when in times.items()
        if when is not None and _is_elsewhere(when, float(longitude))
        for mend in ["leave the offset from UTC away, and write the time of the place"]
    ]
    if faults:
        raise InputFaultsError(faults)


def _is_elsewhere(when: datetime, longitude: float) -> bool:
    offset = when.utcoffset()
    if offset is None:
        return False
    ahead_h = offset / timedelta(hours=1) - longitude / DEGREES_PER_HOUR
    # Across the date line a clock is a day on or back.
    nearest_h = (ahead_h + 12.0) % 24.0 - 12.0
    return not -BEHIND_H <= nearest_h <= AHEAD_H
