"""Conditions on figures: wind, air, rain, drops, height. Each is one small function.

The label's own figure comes first. Where it is not entered, the stricter of the table's working
figure and the active ingredient's own is taken, and said to be such.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from turfmap.days.conditions import Case, Finding, asked, met, not_met
from turfmap.foundations.dates import day_words
from turfmap.foundations.definitions import Row
from turfmap.season.spray_hours import Hours, spray_hours
from turfmap.season.weather import Site

UNVERIFIED = "unverified: confirm on the label"
UNITS = {"mph": "mph", "degF": "F", "h": "h", "in": "in"}
SLACK = 1e-9


@dataclass(frozen=True)
class Limit:
    """A figure, who says so, and how that is known."""

    value: float
    who: str
    source: str
    how_read: str


def given_is_known(row: Row, case: Case) -> Finding:
    """Ask for what is not given."""
    on = case.conditions.on
    if on is None:
        return asked(row, case)
    return met(row, case, given=time_words(on))


def time_words(moment: datetime) -> str:
    """Return a time as people write it: ``3 Oct 2026, 08:00``."""
    return f"{day_words(moment.date())}, {moment:%H:%M}"


def at_most(row: Row, case: Case) -> Finding | None:
    """Compare a figure with the most that is allowed."""
    return _compared(row, case, sign=1.0)


def at_least(row: Row, case: Case) -> Finding | None:
    """Compare a figure with the least that is needed."""
    return _compared(row, case, sign=-1.0)


def _compared(row: Row, case: Case, *, sign: float) -> Finding | None:
    """Compare a figure with the strictest limit; with sign -1, more is better."""
    limits = _limits(row, case)
    given: float | None = getattr(case.conditions, row["given"])
    if given is None:
        return None if row["may_lack"] else asked(row, case)
    if not limits:
        return None
    limit = min(limits, key=lambda one: sign * one.value)
    is_met = sign * given <= sign * limit.value + SLACK
    return (met if is_met else not_met)(
        row,
        case,
        given=_amount(given, row["unit"]),
        limit=_amount(limit.value, row["unit"]),
        who=limit.who,
        source=limit.source,
        how_read=limit.how_read,
    )


def _amount(value: float, unit: str) -> str:
    return f"{value:g} {UNITS[unit]}"


def _limits(row: Row, case: Case) -> list[Limit]:
    """Return the figures that count: the label's alone, or all that stand in for it."""
    if row["value"] is not None:
        return [Limit(row["value"], row["scope"], row["source"], row["how_read"])]
    on_label = case.product.row.get(row["label_column"] or "")
    if on_label is not None:
        return [Limit(float(on_label), *_label(case))]
    found = []
    working = case.row("spray_weather", "limit", row["limit"])
    if working is not None:
        who = f"working figure, {UNVERIFIED}"
        found.append(Limit(working["value"], who, working["source"], working["how_read"]))
    for active in case.product.actives:
        facts = case.book.known.actives[active.name]
        if row["active_column"] and facts[row["active_column"]] is not None:
            who = f"for {active.name}, {UNVERIFIED}"
            value = float(facts[row["active_column"]])
            found.append(Limit(value, who, facts["source"], facts["how_read"]))
    return found


def _label(case: Case) -> tuple[str, str, str]:
    how = "read" if case.product.is_confirmed else "memory"
    return f"label of {case.product.name}", f"label of {case.product.name}", how


def not_finer(row: Row, case: Case) -> Finding:
    """Compare drops with the finest class that is allowed."""
    given = case.row("droplet", "droplet", case.conditions.droplet)
    if given is None:
        return asked(row, case)
    finest, who = row["droplet"], (row["scope"], row["source"], row["how_read"])
    if row["label_column"]:
        on_label = case.product.row.get(row["label_column"])
        if on_label is not None:
            finest, who = on_label, _label(case)
        else:
            who = (f"working figure for turf; {UNVERIFIED}", *who[1:])
    limit = case.row("droplet", "droplet", finest)
    if limit is None:
        return met(row, case, given=given["words"], limit="no class is entered for this label")
    facts = {"given": given["words"], "limit": limit["words"], "who": who[0]}
    facts |= {"source": who[1], "how_read": who[2]}
    if given["rank"] < limit["rank"]:
        return not_met(row, case, **facts)
    if row["label_column"]:
        facts["limit"] = f"no finer than {limit['words']} ({who[0]})"
    return met(row, case, **facts)


def layered_air(row: Row, case: Case) -> Finding | None:
    """Judge whether air may lie in layers: said so, or a light wind while the sun is low."""
    given = case.conditions
    if given.inversion == "suspected":
        return not_met(row, case, given="an inversion is suspected")
    if given.on is None:
        return None  # the day is asked for already
    limits = {one["limit"]: float(one["value"]) for one in case.tables["spray_weather"]}
    if not _sun_is_low(case, given.on, limits):
        return met(row, case)
    against = _may_not_mix(row, case)
    if against is None:
        return met(row, case)
    if given.inversion is None or given.wind_mph is None:
        return asked(row, case, given=against)
    return met(row, case, given=" Somebody on the spot looked.")


def _may_not_mix(row: Row, case: Case) -> str | None:
    """Say why the wind may leave air in layers; None if it surely mixes it.

    A figure from memory holds where the wind is less, and lets nobody go where it is more.
    """
    wind_mph, mixing = case.conditions.wind_mph, case.row("spray_weather", "limit", row["limit"])
    if wind_mph is None or mixing is None:
        return "the wind is not known"
    limit = _amount(mixing["value"], mixing["unit"])
    if wind_mph < mixing["value"]:
        return f"the wind is under {limit}"
    if mixing["how_read"] == "memory":
        return f"that wind of {limit} mixes the air is a figure from memory"
    return None


def _sun_is_low(case: Case, on: datetime, limits: dict[str, float]) -> bool:
    """Tell whether a time is at night or near it, by any clock that the place may have."""
    zone = case.zone
    if not np.isfinite(zone["latitude"]):
        return True
    site = Site(latitude=zone["latitude"], longitude=zone["longitude"])
    hour = on.replace(minute=0, second=0, microsecond=0, tzinfo=None)
    calm = np.zeros(1)
    hours = Hours(hour, np.full(1, 20.0), calm, calm, calm)
    found = [
        spray_hours(hours, site=site, utc_offset_h=offset_h, limits=limits).against["layered"][0]
        for offset_h in _offsets(on, zone["longitude"])
    ]
    return any(found)


def _offsets(on: datetime, longitude: float) -> tuple[float, ...]:
    """Return the hours that a clock may be ahead of UTC; a time with its own offset has one.

    A place's clock is seldom behind the sun and up to two and a half hours ahead of it; one hour
    to either side is in `turfmap.season.spray_hours` already.
    """
    offset = on.utcoffset()
    if offset is not None:
        return (offset / timedelta(hours=1),)
    standard = float(round(longitude / 15.0))
    return standard, standard + 1.0


def exclusion_zone(row: Row, case: Case) -> Finding | None:
    """Tell how far everybody keeps from the nozzle."""
    found = exclusion(case)
    if not found["distance_ft"]:
        return None
    words = f"{found['distance_ft']:g} ft"
    who = f"{found['words']}; {found['scope']}"
    return not_met(row, case, given=words, who=who)


def exclusion(case: Case) -> Row:
    """Return the row of the table exclusion_zone that applies, the widest where it is not known."""
    given = case.conditions
    rank = {one["droplet"]: one["rank"] for one in case.tables["droplet"]}
    drops = rank.get(given.droplet, 0)
    height = np.inf if given.nozzle_height_in is None else given.nozzle_height_in
    for row in case.tables["exclusion_zone"]:
        if row["method"] is not None and row["method"] != given.method:
            continue
        if row["finer_than"] is not None and drops >= rank[row["finer_than"]]:
            continue
        if row["released_above_in"] is not None and height <= row["released_above_in"]:
            continue
        return row
    raise ValueError("the last row of the table exclusion_zone applies to everything")
