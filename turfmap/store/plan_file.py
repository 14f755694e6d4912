"""A plan that turfmap printed before, read back: which day each client was told."""

import json
from datetime import date
from pathlib import Path
from typing import Any

from turfmap.foundations.errors import input_fault

MOST_BYTES = 100_000_000
MEND = "give what turfmap days … --json printed"


def read_announced(path: Path) -> dict[str, tuple[date, str]]:
    """Return the day and the truck of each stop that an earlier plan serves, by the stop's id.

    Raises
    ------
    InputFaultsError
        If the file is no such plan.
    """
    stops = _stops(path)
    try:
        return {
            str(stop["stop"]): (date.fromisoformat(stop["day"]), str(stop["truck"]))
            for stop in stops
            if stop["day"] is not None
        }
    except (KeyError, TypeError, ValueError):
        raise input_fault("a stop of it lacks its id, day or truck", MEND, file=str(path)) from None


def _stops(path: Path) -> list[Any]:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise input_fault("it is larger than 100 MB", MEND, file=str(path))
        read = json.loads(path.read_bytes())
    except OSError as error:
        said = f"it cannot be read ({error.strerror})"
        raise input_fault(said, "check the name", file=str(path)) from None
    except (ValueError, RecursionError):
        raise input_fault("it is not JSON", MEND, file=str(path)) from None
    stops = read.get("stops") if isinstance(read, dict) else None
    if not isinstance(stops, list):
        raise input_fault("it holds no stops", MEND, file=str(path))
    return stops
