"""A visit as the page sends it: recorded once, its limits told before, its duties after."""

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from turfmap.days.load_sheet import Equipment
from turfmap.days.quantities import rate
from turfmap.desk.mix import Asked as LoadAsked
from turfmap.desk.mix import mix
from turfmap.desk.protected import Overrides
from turfmap.desk.record import record
from turfmap.desk.record_asked import Asked, read_asked
from turfmap.desk.record_correction import correct
from turfmap.desk.record_duties import missing_elements
from turfmap.desk.record_form import COLUMN_OF
from turfmap.desk.record_ground import Ground, known_facts, rows_on_ground
from turfmap.desk.record_list import records
from turfmap.foundations.definitions import Row
from turfmap.foundations.errors import Fault, FileFaultError, InputFaultsError
from turfmap.foundations.units import square_feet

Plain = dict[str, Any]
# Columns that the map fills in, so that nobody can leave them out.
_FROM_MAP = {"location": "map", "area_treated_m2": 1.0, "site": "map"}
_OF_PROPERTY = {"customer": "map", "customer_address": "map"}
STILL_COUNTED = "The record that you are correcting still counts in these sums."


def record_visit(
    path: Path, said: Mapping[str, Any], *, corrects: str | None, unfinished: bool
) -> Plain:
    """Record a visit, or correct one; the same visit that comes again is known by its ``id``.

    Parameters
    ----------
    path
        The place.
    said
        Facts by name as for `turfmap.desk.record.record`, its ``id`` among them. Of a
        correction only what is different, and its reason.
    corrects
        The record that it takes the place of.
    unfinished
        Whether to keep it although a rule asks for more.

    Returns
    -------
    dict
        As `turfmap.desk.record.record`; a record that was there already is among ``records``
        too, with ``already`` naming it.

    Raises
    ------
    InputFaultsError
        With everything that is wrong with it, what a rule asks for among it; nothing has been
        written.
    """
    try:
        if corrects is not None:
            result = correct(path, corrects, said, unfinished=unfinished)
        else:
            result = record(path, said, unfinished=unfinished)
    except FileFaultError:
        raise
    except InputFaultsError as error:
        more = [] if corrects or unfinished else _also_missing(path, said, error.faults)
        raise InputFaultsError([*error.faults, *more]) from None
    if result["already"]:
        there = [one for one in records(path)["records"] if one["record"] in result["already"]]
        result["records"] += [_as_told(one) for one in there]
    return result


def _also_missing(path: Path, said: Mapping[str, Any], faults: tuple[Fault, ...]) -> list[Fault]:
    """Find what a rule asks for where other faults kept a record from being looked at whole."""
    if any(" is missing (" in one.problem for one in faults):
        return []
    values = {column: said.get(fact) or None for fact, column in COLUMN_OF.items()}
    if not values["task"]:
        return []
    ground = Ground(path)
    row = known_facts({**values, "property": values["property"] or ""}, ground) | _FROM_MAP
    if values["property"] not in ground.properties:  # which would tell them
        row |= _OF_PROPERTY
    told = {one.problem for one in faults}
    mend = "give it, or keep the record as it is with --unfinished"
    return [
        Fault("", "record", f"{one['words']} is missing ({', '.join(one['rules'])})", mend)
        for one in missing_elements([row])
        if f"{one['element']} is missing" not in told
    ]


def _as_told(one: Plain) -> Plain:
    first: Row = one["rows"][0]
    names = ("record", "property", "task", "missing", "deadlines", "posting")
    zone = ("zone", "area_treated_m2", "amount", "amount_unit")
    return {
        **{name: one[name] for name in names},
        "date": str(one["date"])[:10],
        "corrects": first["corrects"],
        "cancelled": bool(first["cancelled"]),
        "zones": [{name: row[name] for name in zone} for row in one["rows"]],
        "area_found_by": first["area_found_by"],
        "advised": [],
        "notes": [],
    }


def visit_limits(path: Path, said: Mapping[str, Any], *, corrects: str | None = None) -> Plain:
    """Tell what the limits say of a visit before it is recorded; nothing is written.

    A visit that breaks a limit can still be recorded, since the record says what was done.

    Returns
    -------
    dict
        ``problems`` (what `turfmap mix` would refuse, and what of the ground it leaves out),
        ``sums`` (each active ingredient and zone with its arithmetic and limits), ``asks``,
        ``cautions``, ``unknown`` (why nothing can be said, or empty).
    """
    told: Plain = {"problems": [], "sums": [], "asks": [], "cautions": [], "unknown": ""}
    asked, faults = read_asked(said, file="", where="record")
    if asked is None:
        mends = " ".join(f"{one.problem}." for one in faults[:3])
        return told | {"unknown": f"Limits cannot be told yet: {mends}"}
    ground = Ground(path)
    product = asked.values["product"]
    if product not in ground.products:
        return told | {"unknown": _without_product(product)}
    try:
        load = mix(path, _load_of(asked, ground), equipment=Equipment(), overrides=Overrides({}))
    except InputFaultsError as error:
        return told | {"problems": [_sentence(one) for one in error.faults]}
    sums = [
        _sum(zone, one) for of in load["loads"] for zone in of["zones"] for one in zone["actives"]
    ]
    left_out = [f"{one['zone']}: {'; '.join(one['why'])}." for one in load["left_out"]]
    return told | {
        "problems": left_out,
        "sums": sums,
        "asks": load["asks"],
        "cautions": [*([STILL_COUNTED] if corrects else []), *load["cautions"]],
    }


def _sentence(fault: Fault) -> str:
    """Say a fault without its mend: here nothing is mixed, it was put down."""
    where = f"{fault.record}: " if "/" in fault.record else ""
    return f"{where}{fault.problem}."


def _without_product(product: str | None) -> str:
    if not product:
        return "No product is named, so there is no limit to look at."
    return (
        f"{product} is not in the product book, so no limit can be worked out: read the label, or"
        " enter the product with turfmap import … --as product."
    )


def _load_of(asked: Asked, ground: Ground) -> LoadAsked:
    """Return the load that was put down, at the rate that amount and area give."""
    values = asked.values
    rows, faults, _, _ = rows_on_ground(asked, ground)
    if faults:
        raise InputFaultsError(faults)
    treated = [row for row in rows if row["zone"] and row["area_treated_m2"]]
    day: date = values["date"]
    area_sqft = square_feet(sum(row["area_treated_m2"] for row in treated))
    words = None
    if values["amount"] is not None and area_sqft:
        per_acre = values["amount"] * 43_560.0 / area_sqft
        words = rate(f"{per_acre:.9f} {values['amount_unit']} product/acre", record="amount")
    return LoadAsked(
        product=values["product"],
        properties=(values["property"],),
        zones=tuple(str(row["zone"]) for row in treated),
        rate=words,
        day=day,
    )


def _sum(zone: Plain, one: Plain) -> Plain:
    names = ("arithmetic", "single_max_lb_per_acre", "annual_max_lb_per_acre", "limit_source")
    return {
        "zone": zone["zone"],
        "active": one["active_ingredient"],
        **{name: one[name] for name in (*names, "load_lb_per_acre", "total_lb_per_acre")},
    }
