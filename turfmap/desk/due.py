"""What is due on each zone of a place on a day, what must wait, and what to ask first."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

from turfmap.desk.due_parts import judged
from turfmap.desk.engine import Engine
from turfmap.desk.season_inputs import SeasonInputs, season_inputs
from turfmap.desk.weather import Given
from turfmap.season.rules import rules_with
from turfmap.season.what_if import supposing


def due(
    path: Path,
    *,
    as_of: date,
    weather_file: Path | None = None,
    forecast_file: Path | None = None,
    property_name: str | None = None,
    why: str | None = None,
    what_if: Sequence[tuple[str, str]] = (),
) -> dict[str, Any]:
    """Return what is due on every zone of a place; nothing is written.

    Parameters
    ----------
    path
        The turfmap file.
    as_of
        The day asked about.
    weather_file, forecast_file
        A daily weather CSV that wins over the weather in the file, and one joined after it.
    property_name
        Only this property.
    why
        Only this zone, by its name or as ``property / zone``, with the whole chain of reasons.
    what_if
        Things to suppose; see `turfmap.season.what_if.supposing`.

    Returns
    -------
    dict
        See `turfmap.season.due.due`; with ``what_if``, in words, if anything is supposed.

    Raises
    ------
    InputFaultsError
        If a file needs mending, the property or zone is not there, or `why` means several zones.
    """
    inputs = season_inputs(
        path,
        as_of=as_of,
        given=Given(weather_file, forecast_file),
        property_name=property_name,
        zone_name=why,
    )
    return due_by(inputs, as_of=as_of, why=why is not None, what_if=what_if)


def due_by(
    inputs: SeasonInputs,
    *,
    as_of: date,
    why: bool = False,
    what_if: Sequence[tuple[str, str]] = (),
    engine: Engine | None = None,
) -> dict[str, Any]:
    """Return what is due by what was read; see `due`.

    Parameters
    ----------
    inputs
        From `turfmap.desk.season_inputs.season_inputs`.
    engine
        Who judges, part by part; None: this process. The answer is the same.
    """
    rules = rules_with(inputs.more["own_rows"])
    known, supposed = supposing(what_if, inputs.known, as_of=as_of, rules=rules)
    found = judged(known, as_of=as_of, why=why, more=inputs.more, engine=engine)
    cautions = [*found["cautions"], *inputs.notes]
    if not supposed:
        return found | {"cautions": cautions}
    said = f"What if: {'; '.join(supposed)}. Nothing of this was written down."
    return found | {"what_if": supposed, "cautions": [said, *cautions]}
