"""What a calendar of a plan said before: which events change, and which are called off.

A calendar that knows an event takes a new one of the same identity for it only if that has been
revised. So an event that says something else than before counts one more revision, with a later
stamp; one that says the same keeps both, to the byte. What an earlier plan held on a day of this
one, and this one does not, is called off, not dropped: else it would stay in everybody's calendar.

References
----------
RFC 5545, Internet Calendaring and Scheduling: 3.8.7.4 (revisions), 3.8.7.2 and 3.8.7.3 (stamps),
3.8.1.11 (called off), 3.8.4.7 (identities). RFC 5546, 2.1.5: of two, the later revision counts,
of the same revision the later stamp.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from icalendar import Calendar, Event

from turfmap.foundations.errors import input_fault

Events = Mapping[str, Event]
CALLED_OFF = "Called off: the plan no longer holds this visit."
# What says when and how often an event was written, and not what it is.
_STAMPS = ("DTSTAMP", "LAST-MODIFIED", "SEQUENCE")


def earlier_events(texts: Iterable[tuple[str, str]]) -> dict[str, Event]:
    """Return the events of earlier calendars by identity; of one identity the last revision.

    Parameters
    ----------
    texts
        The name of each file, and what is in it.

    Raises
    ------
    InputFaultsError
        If one is no calendar as turfmap writes it.
    """
    found: dict[str, Event] = {}
    for file, text in texts:
        for event in _events(file, text):
            before = found.get(str(event["uid"]))
            if before is None or _revision(event) > _revision(before):
                found[str(event["uid"])] = event
    return found


def _events(file: str, text: str) -> list[Event]:
    try:
        read = [e for e in Calendar.from_ical(text).walk("VEVENT") if isinstance(e, Event)]
        for event in read:
            str(event["uid"]), str(event["summary"]), _time(event, "dtend").date()
            if _day(event) and _revision(event)[1].utcoffset() is None:
                raise ValueError
    except (ValueError, KeyError, AttributeError, TypeError, IndexError):
        raise input_fault(
            "it is not as turfmap wrote it, so changed visits cannot be marked as changed",
            "take it out of the folder",
            file=file,
        ) from None
    return read


def revised(event: Event, before: Event | None, *, stamp: datetime) -> Event:
    """Give an event its stamps and its number of revisions.

    Parameters
    ----------
    event
        What is to be said now, without them.
    before
        What was said of it before, if anything.
    stamp
        The time of the plan, UTC.
    """
    count = 0
    if before is not None:
        count, earlier = _revision(before)
        stamp = max(stamp, earlier)
        if _said(event) != _said(before):
            count, stamp = count + 1, max(stamp, earlier + timedelta(seconds=1))
        else:
            stamp = earlier
    for name, value in (("sequence", count), ("dtstamp", stamp), ("last-modified", stamp)):
        event.add(name, value)
    return event


def called_off(
    before: Events, now: Iterable[str], *, days: tuple[str, str], zone: ZoneInfo | None
) -> list[tuple[Event, Event]]:
    """Return what is no longer planned on some days: as it is now, and as it was.

    Parameters
    ----------
    before
        What was said before.
    now
        Identities of what is planned.
    days
        First and last day of the plan; what lies outside is left as it is in people's calendars.
    """
    planned = set(now)
    return [
        (_off(event, zone), event)
        for uid, event in before.items()
        if uid not in planned and days[0] <= _day(event) <= days[1]
    ]


def _off(event: Event, zone: ZoneInfo | None) -> Event:
    found = Event()
    found.add("uid", str(event["uid"]))
    for name in ("dtstart", "dtend"):
        found.add(name, _time(event, name).replace(tzinfo=zone))
    found.add("summary", str(event["summary"]))
    found.add("description", CALLED_OFF)
    found.add("status", "CANCELLED")
    return found


def _revision(event: Event) -> tuple[int, datetime]:
    """Return how often an event was changed, and its stamp."""
    return int(str(event.get("sequence", 0))), _time(event, "dtstamp")


def _day(event: Event) -> str:
    return _time(event, "dtstart").date().isoformat()


def _time(event: Event, name: str) -> datetime:
    found: Any = event[name]
    time: datetime = found.dt
    return time


def _said(event: Event) -> bytes:
    """Return what an event says, written the same way whether it was made or read."""
    again = Event.from_ical(event.to_ical(sorted=True))
    for name in _STAMPS:
        again.pop(name, None)
    found: bytes = again.to_ical(sorted=True)
    return found
