"""How every task of every zone of a place stands from week to week, for the map."""

from datetime import date
from pathlib import Path
from typing import Any

from turfmap.desk.season_inputs import season_inputs
from turfmap.desk.weather import Given
from turfmap.season import weeks as season


def due_weeks(
    path: Path,
    *,
    as_of: date,
    weeks_before: int = 8,
    weeks_after: int = 26,
    weather_file: Path | None = None,
    forecast_file: Path | None = None,
    property_name: str | None = None,
) -> dict[str, Any]:
    """Return the state of every task on each zone of a place, one day a week.

    Parameters
    ----------
    path, as_of, weather_file, forecast_file, property_name
        See `turfmap.desk.due.due`.
    weeks_before, weeks_after
        How many weeks before and after `as_of`.

    Returns
    -------
    dict
        See `turfmap.season.weeks.due_weeks`.

    Raises
    ------
    InputFaultsError
        If a file needs mending, or the property is not there.
    """
    inputs = season_inputs(
        path,
        as_of=as_of,
        given=Given(weather_file, forecast_file),
        property_name=property_name,
    )
    known = inputs.known
    found = season.due_weeks(
        known.zones,
        as_of=as_of,
        weeks=(weeks_before, weeks_after),
        answers=known.answers,
        visits=known.visits,
        weather=known.weather,
        **inputs.more,
    )
    return found | {"cautions": [*found["cautions"], *inputs.notes]}
