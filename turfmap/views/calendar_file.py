"""A plan as a calendar: an event a stop.

References
----------
RFC 5545, Internet Calendaring and Scheduling: 3.1 (folded lines), 3.3.5 (floating time), 3.6.5
(time zones), 3.8.4.7 (identities). The identity of a stop stays when its day moves, so that a
calendar moves the event; `turfmap.views.calendar_changes` says which have changed. Stamps are the
plan's first day, never the clock.
"""

import re
import uuid
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from icalendar import Calendar, Event, Timezone

from turfmap.foundations.errors import input_fault
from turfmap.views.calendar_changes import called_off, earlier_events, revised
from turfmap.views.outings import (
    Call,
    Outing,
    Plain,
    amount_words,
    calls_of,
    note_words,
    zone_words,
)

CALENDAR_MARK = "PRODID:-//turfmap//spray days//EN"
FLOATING = "Times are by the clock of the place; no time zone was given."
LOOK = "No permission: look at the wind, the label and the ground on the day."
_NAMES = uuid.uuid5(uuid.NAMESPACE_URL, "urn:turfmap:stop")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
_DAYS_BEYOND = 400  # both changes of the clock lie within


def calendar_text(
    plan: Plain, *, time_zone: str | None = None, earlier: Iterable[tuple[str, str]] = ()
) -> str:
    """Return a plan as an iCalendar file; the same plan gives the same bytes, also over itself.

    Parameters
    ----------
    plan
        A result of `turfmap.desk.spray_days.spray_days`.
    time_zone
        A name of the IANA time zone database, as ``America/New_York``; None: times float.
    earlier
        Calendars of earlier plans, each with the name of its file: what has changed since is told
        as changed, what is no longer planned is called off.

    Raises
    ------
    InputFaultsError
        If there is no such time zone, or an earlier calendar is not ours.
    """
    zone, known = zone_of(time_zone), earlier_events(earlier)
    first = datetime.fromisoformat(plan["from"])
    calendar = Calendar()
    calendar.add("prodid", CALENDAR_MARK.partition(":")[2])
    calendar.add("version", "2.0")
    calendar.add("name", "Spray days")
    said = [plan["travel"]["basis"], *([] if zone else [FLOATING])]
    calendar.add("description", plain_text(" ".join(said)))
    if zone is not None:
        until = first + timedelta(days=_DAYS_BEYOND)
        before = first - timedelta(days=_DAYS_BEYOND)
        calendar.add_component(Timezone.from_tzinfo(zone, time_zone, before.date(), until.date()))
    stamp = first.replace(tzinfo=UTC)
    events = [_event(outing, call, zone) for outing, call in calls_of(plan)]
    told = [(event, known.get(str(event["uid"]))) for event in events]
    planned = [str(event["uid"]) for event in events]
    told += called_off(known, planned, days=(plan["from"], plan["to"]), zone=zone)
    for event, was in told:
        calendar.add_component(revised(event, was, stamp=stamp))
    text: str = calendar.to_ical(sorted=False).decode("utf-8")
    return text


def zone_of(name: str | None) -> ZoneInfo | None:
    """Return a time zone by its name; None for none.

    Raises
    ------
    InputFaultsError
        If there is no such time zone.
    """
    if name is None:
        return None
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise input_fault(
            f"there is no time zone {name!r}", "write it as America/New_York", record="--time-zone"
        ) from None


def _event(outing: Outing, call: Call, zone: ZoneInfo | None) -> Event:
    stop = call.stop or {}
    year = stop["closes"][:4]
    longitude, latitude = call.lon_lat
    event = Event()
    event.add("uid", f"{uuid.uuid5(_NAMES, plain_text(stop['stop']) + year)}@turfmap")
    for name, key in (("dtstart", "starts"), ("dtend", "ends")):
        event.add(name, datetime.fromisoformat(call.leg[key]).replace(tzinfo=zone))
    title = f"{call.leg['number']}. {stop['property']}: {stop['title']} ({outing.of['truck']})"
    event.add("summary", plain_text(title))
    if stop["address"]:
        event.add("location", plain_text(stop["address"]))
    event.add("geo", (round(latitude, 6), round(longitude, 6)))
    lines = [zone_words(stop), amount_words(stop), *note_words(stop), LOOK]
    event.add("description", plain_text("\n".join(line for line in lines if line)))
    return event


def plain_text(text: str) -> str:
    """Return text without the control signs that neither a calendar nor XML may hold."""
    return _CONTROL.sub(" ", text.replace("\r\n", "\n").replace("\r", "\n"))
