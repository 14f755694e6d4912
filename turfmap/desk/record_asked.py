"""What a person says was done, read into the columns of a visit; every fault of it found."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import time
from functools import lru_cache
from typing import Any

import shapely

from turfmap.foundations.checks import as_text, checked_rows
from turfmap.foundations.dates import FIRST_YEAR, LAST_YEAR
from turfmap.foundations.definitions import Row, map_layer, table
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.foundations.units import (
    SQUARE_METRES_PER_ACRE,
    SQUARE_METRES_PER_SQUARE_FOOT,
    celsius,
    number,
    quantity,
)

MOST_ZONES = 1_000

# What a person says, and the column that it goes to as it is.
PLAIN = {
    "property": "property",
    "task": "task",
    "date": "date",
    "product": "product",
    "registration": "registration_number",
    "start": "start_time",
    "end": "end_time",
    "by": "applicator",
    "licence": "licence_number",
    "supervised": "supervised",
    "customer": "customer",
    "address": "customer_address",
    "site": "site",
    "equipment": "equipment",
    "photo": "photo",
    "note": "notes",
    "corrects": "corrects",
    "reason": "reason",
    "cancelled": "cancelled",
}
MEASURED = ("amount", "area", "wind", "air")
SAID = {"id", "zones", *PLAIN, *MEASURED}

_NUMBER = r"([-+]?[0-9][0-9,]*\.?[0-9]*|[-+]?\.[0-9]+)"
_WITH_UNIT = re.compile(rf"\s*{_NUMBER}\s*([^\s0-9].*?)\s*")
_WIND = re.compile(rf"\s*{_NUMBER}\s*(mph|kmh|km/h|m/s|kn|knots?)(?:\s+([A-Za-z]{{1,3}}))?\s*")
_AIR = re.compile(rf"\s*{_NUMBER}\s*(?:°|deg)?\s*([FC])\s*", re.IGNORECASE)
_CLOCK = re.compile(r"[0-2]?[0-9]:[0-5][0-9]")
_NAME = re.compile(r"[A-Za-z0-9_-]{4,64}")
_WIND_UNITS = {"km/h": "kmh", "kmh": "kmh", "m/s": "mps", "kn": "knot"}
_AREA_UNITS = {
    **dict.fromkeys(("sqft", "sq ft", "ft2", "square feet"), SQUARE_METRES_PER_SQUARE_FOOT),
    **dict.fromkeys(("ac", "acre", "acres"), SQUARE_METRES_PER_ACRE),
    **dict.fromkeys(("m2", "sq m", "sqm", "square metres"), 1.0),
}


@dataclass(frozen=True)
class Asked:
    """One record as a person gave it, read.

    Attributes
    ----------
    file, where
        What to call it in a fault.
    name
        The name that it brought along; None if turfmap shall give one.
    values
        A value for each column of the layer visit; amounts are for the whole record.
    zones
        The zones that were named.
    area_m2
        The area that was given [m2].
    drawn
        The ground that was drawn, EPSG:4326; None if none was.
    kept
        The older rows by zone, where a correction leaves the ground as it was.
    """

    file: str
    where: str
    name: str | None
    values: Row
    zones: tuple[str, ...]
    area_m2: float | None
    drawn: shapely.Geometry | None = None
    kept: Mapping[str | None, Row] | None = None

    def fault(self, problem: str, mend: str) -> Fault:
        """Return a fault of this record."""
        return Fault(self.file, self.where, problem, mend)


def read_asked(said: Any, *, file: str, where: str) -> tuple[Asked | None, list[Fault]]:
    """Read one record.

    Parameters
    ----------
    said
        A mapping with members of `SAID`: texts, or numbers, or for ``zones`` a list of texts.
    file, where
        What to call it in a fault.

    Returns
    -------
    asked : Asked or None
        None if anything is wrong with it.
    faults : list of Fault
        All that is wrong.
    """
    if not isinstance(said, Mapping):
        return None, [Fault(file, where, "it is no record", "give its facts by name")]
    faults = _type_faults(said, file, where)
    if faults:
        return None, faults
    texts = {name: as_text(value) for name, value in said.items() if name != "zones"}
    measured, faults = _measured(texts, file, where)
    raw = {column: texts.get(name) for name, column in PLAIN.items()} | measured
    (values,), (found,) = checked_rows([raw], map_layer("visit"), file=file, records=[where])
    faults += [_mended(fault) for fault in found]
    faults += [Fault(file, where, *problem) for problem in _sense(values, texts)]
    name = texts.get("id") or None
    asked = Asked(file, where, name, values, _zones(said), measured["area_m2"])
    return (None if faults else asked), faults


def _type_faults(said: Mapping[str, Any], file: str, where: str) -> list[Fault]:
    faults = [
        Fault(
            file,
            where,
            f"{str(name)[:60]!r} is not a fact of a record",
            f"choose one of {_known()}",
        )
        for name in said
        if name not in SAID
    ]
    plain = str | int | float | bool | None
    faults += [
        Fault(file, where, f"{name} is not a plain value", "give one text or number")
        for name, value in said.items()
        if name in SAID and name != "zones" and not isinstance(value, plain)
    ]
    zones = said.get("zones") or []
    zones = [zones] if isinstance(zones, str) else zones
    if not isinstance(zones, list | tuple) or not all(isinstance(zone, str) for zone in zones):
        faults.append(Fault(file, where, "zones is not a list of names", "give names of zones"))
    elif len(zones) > MOST_ZONES:
        faults.append(Fault(file, where, f"it names {len(zones):,} zones", "make several records"))
    return faults[:20]


def _known() -> str:
    return ", ".join(sorted(SAID))


def _zones(said: Mapping[str, Any]) -> tuple[str, ...]:
    zones = said.get("zones") or ()
    zones = (zones,) if isinstance(zones, str) else zones
    return tuple(dict.fromkeys(as_text(zone) for zone in zones if as_text(zone)))


def _mended(fault: Fault) -> Fault:
    """Say what to do in the words of a record, not of a file's columns."""
    missing = fault.problem.endswith(" is missing")
    return replace(fault, mend="say it" if missing else "correct it")


def _measured(texts: Mapping[str, str], file: str, where: str) -> tuple[Row, list[Fault]]:
    """Read what has a unit; what cannot be read is None and a fault."""
    row: Row = dict.fromkeys(
        ("amount", "amount_unit", "area_m2", "wind_m_per_s", "wind_from", "air_c")
    )
    faults: list[Fault] = []
    for name, reader in _READERS.items():
        if texts.get(name):
            try:
                row |= reader(texts[name])
            except InputFaultsError as error:
                faults += [replace(one, file=file, record=where) for one in error.faults]
    return row, faults


def _amount(text: str) -> Row:
    found = _WITH_UNIT.fullmatch(text)
    unit = _amount_units().get(" ".join(found[2].lower().split())) if found else None
    if found is None or unit is None:
        raise input_fault(
            f"the amount {text[:60]!r} is not understood",
            'write a number and its unit, such as "3.5 gal", "12 fl oz" or "4 lb"',
        )
    amount = number(found[1], record="--amount")
    most = map_layer("visit").columns["amount"].maximum or 0.0
    if not 0 < amount <= most:
        raise input_fault(
            f"the amount {text[:60]!r} is not more than 0 and at most {most:,.0f}", "correct it"
        )
    return {"amount": amount, "amount_unit": unit}


@lru_cache(maxsize=1)
def _amount_units() -> dict[str, str]:
    return {
        spelling.lower(): row["amount_unit"]
        for row in table("amount_unit").rows
        for spelling in row["spellings"].split(";")
    }


def _area(text: str) -> Row:
    found = _WITH_UNIT.fullmatch(text)
    factor = _AREA_UNITS.get(" ".join(found[2].lower().split())) if found else None
    if found is None or factor is None:
        raise input_fault(
            f"the area {text[:60]!r} is not understood",
            'write a number and its unit, such as "12000 sqft" or "0.3 acre"',
        )
    area = number(found[1], record="--area")
    if area <= 0:
        raise input_fault(f"the area {text[:60]!r} is not more than 0", "correct it")
    return {"area_m2": area * factor}


def _wind(text: str) -> Row:
    if text.strip().lower() == "calm":
        return {"wind_m_per_s": 0.0}
    found = _WIND.fullmatch(text)
    if found is None:
        raise input_fault(
            f"the wind {text[:60]!r} is not understood", 'write it like "6 mph NW", or calm'
        )
    unit = _WIND_UNITS.get(found[2], found[2])
    speed = quantity(f"{found[1]} {unit}", "meter / second", record="--wind", example="6 mph")
    return {"wind_m_per_s": speed, "wind_from": found[3].upper() if found[3] else None}


def _air(text: str) -> Row:
    found = _AIR.fullmatch(text)
    if found is None:
        raise input_fault(
            f"the temperature {text[:60]!r} is not understood", 'write it like "71F" or "22C"'
        )
    air = number(found[1], record="--air")
    return {"air_c": celsius(air) if found[2].upper() == "F" else air}


_READERS = {"amount": _amount, "area": _area, "wind": _wind, "air": _air}


def _sense(values: Row, texts: Mapping[str, str]) -> list[tuple[str, str]]:
    """Find what is read well and cannot be: problem and mend of each."""
    problems = []
    day = values["date"]
    if day is not None and not FIRST_YEAR <= day.year <= LAST_YEAR:
        problems.append((f"{day} is not a day of work", f"give {FIRST_YEAR} to {LAST_YEAR}"))
    clock = {name: _clock(values[name]) for name in ("start_time", "end_time")}
    for name, read in clock.items():
        if values[name] and read is None:
            problems.append((f"{name} {values[name]!r} is not a time", "write it as HH:MM"))
        values[name] = f"{read:%H:%M}" if read else None
    start, end = clock["start_time"], clock["end_time"]
    if start and end and end <= start:
        mend = "correct one of them; work over midnight is two records"
        problems.append((f"it ended at {end:%H:%M}, not after it began at {start:%H:%M}", mend))
    if values["amount"] is not None and not values["product"]:
        problems.append(("there is an amount and no product", "name the product"))
    if texts.get("id") and not _NAME.fullmatch(texts["id"]):
        problems.append((f"the id {texts['id'][:70]!r} is no id", "use 4 to 64 letters and digits"))
    if (values["corrects"] or values["cancelled"]) and not values["reason"]:
        problems.append(("it has no reason", "say why the older record was wrong"))
    if values["cancelled"] and not values["corrects"]:
        problems.append(("it cancels no record", "name the record that it cancels"))
    if values["corrects"] and values["corrects"] == texts.get("id"):
        problems.append(("it corrects itself", "name the older record"))
    return problems


def _clock(text: str | None) -> time | None:
    if not text or not _CLOCK.fullmatch(text):
        return None
    try:
        return time.fromisoformat(text.zfill(5))
    except ValueError:
        return None
