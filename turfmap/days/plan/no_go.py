"""When nobody may come, as a client said: ``Mon; Thu 12:00-15:00; 2026-10-04; 11:30-13:00``."""

import re
from datetime import date

from turfmap.days.plan.problem import DAY_S, Closed
from turfmap.foundations.errors import input_fault

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_HOURS = re.compile(r"(\d{1,2}):(\d{2})\s*(?:-|–|to)\s*(\d{1,2}):(\d{2})")
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
MEND = "write weekdays (Mon; Tue-Thu), hours (12:00-15:00) and days (2026-10-04), separated by ;"


def closed_hours(text: str | None, *, record: str) -> tuple[Closed, ...]:
    """Read when nobody may come; nothing written: always welcome.

    Raises
    ------
    InputFaultsError
        If it is not understood: who is not understood must not be surprised by a truck.
    """
    parts = [part.strip() for part in (text or "").split(";")]
    return tuple(_closed(part, record) for part in parts if part)


def weekdays(text: str | None, *, record: str) -> frozenset[int]:
    """Read weekdays such as ``Mon; Tue; Fri`` or ``Mon-Fri``; Monday is 0.

    Raises
    ------
    InputFaultsError
        If a part is no weekday.
    """
    found: set[int] = set()
    for part in (part.strip().lower() for part in (text or "").split(";")):
        first, dash, last = (piece.strip() for piece in part.partition("-"))
        if not part:
            continue
        begins, ends = _weekday(first), _weekday(last) if dash else _weekday(first)
        if begins is None or ends is None:
            raise input_fault(f"{part!r} is no weekday", MEND, record=record)
        found |= {(begins + step) % 7 for step in range((ends - begins) % 7 + 1)}
    return frozenset(found)


def _weekday(word: str) -> int | None:
    return WEEKDAYS.index(word[:3]) if word[:3] in WEEKDAYS else None


def _closed(part: str, record: str) -> Closed:
    rest, from_s, to_s = part.lower(), 0, DAY_S
    hours = _HOURS.search(rest)
    if hours:
        from_s, to_s = (clock(hours[n], hours[n + 1], record) for n in (1, 3))
        rest = (rest[: hours.start()] + rest[hours.end() :]).strip()
    if from_s >= to_s:
        raise input_fault(f"{part!r} ends before it begins", MEND, record=record)
    if not rest and hours:
        return Closed(from_s, to_s)
    if _DATE.fullmatch(rest):
        return Closed(from_s, to_s, day=_date(rest, record))
    return Closed(from_s, to_s, weekdays(rest, record=record))


def _date(text: str, record: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise input_fault(f"{text!r} is no day", MEND, record=record) from None


def clock(hours: str, minutes: str, record: str, *, mend: str = MEND) -> int:
    """Return a time of the clock in seconds of the day.

    Raises
    ------
    InputFaultsError
        If there is no such time.
    """
    if not (0 <= int(hours) <= 24 and 0 <= int(minutes) <= 59):
        raise input_fault(f"{hours}:{minutes} is no time of the day", mend, record=record)
    return min(int(hours) * 3_600 + int(minutes) * 60, DAY_S)
