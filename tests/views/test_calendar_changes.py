"""A calendar over an earlier one: which visits count as changed, and which are called off.

Outside sources: RFC 5545, 3.8.7.4 (a changed event counts one more revision, which begins at 0),
3.8.7.2 and 3.8.7.3 (stamps in UTC), 3.8.1.11 (CANCELLED); RFC 5546, 2.1.5 (of two the later
revision counts, of equal ones the later stamp). Read back by icalendar.
"""

from copy import deepcopy
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import icalendar
import pytest

from tests.views.plan_sample import plan
from turfmap.foundations.errors import InputFaultsError
from turfmap.store.written_files import read_written
from turfmap.views.calendar_file import CALENDAR_MARK, calendar_text

ZONE = "America/New_York"


def told(made: Any, *earlier: str, time_zone: str | None = ZONE) -> str:
    named = [(f"{number}/calendar.ics", text) for number, text in enumerate(earlier)]
    return calendar_text(made, time_zone=time_zone, earlier=named)


def events(text: str) -> dict[str, Any]:
    found: list[Any] = list(icalendar.Calendar.from_ical(text).walk("VEVENT"))
    return {str(one["summary"]): one for one in found}


def by_identity(text: str) -> dict[str, Any]:
    return {str(one["uid"]): one for one in events(text).values()}


def with_cedar_moved(day: str = "2026-09-17") -> Any:
    """Return the plan with its second outing on another day."""
    made = deepcopy(plan())
    made["days"][1] |= {"day": day}
    for leg in made["days"][1]["legs"]:
        leg |= {key: f"{day}{leg[key][10:]}" for key in ("arrives", "starts", "ends")}
    return made


def without_cedar() -> Any:
    made = deepcopy(plan())
    del made["days"][1]
    return made


def test_a_new_calendar_begins_at_the_first_revision_with_stamps_in_utc() -> None:
    for one in events(told(plan())).values():
        assert int(one["sequence"]) == 0
        assert one["dtstamp"].dt == one["last-modified"].dt == datetime(2026, 9, 14, tzinfo=UTC)


@pytest.mark.parametrize("time_zone", [ZONE, None])
def test_the_same_plan_over_its_own_calendar_gives_the_same_bytes(time_zone: str | None) -> None:
    before = told(plan(), time_zone=time_zone)
    assert told(plan(), before, time_zone=time_zone) == before
    moved = told(with_cedar_moved(), before, time_zone=time_zone)
    assert told(with_cedar_moved(), moved, time_zone=time_zone) == moved
    # Beside an older calendar, too: the later revision counts, whichever is read first.
    for order in ((before, moved), (moved, before)):
        assert told(with_cedar_moved(), *order, time_zone=time_zone) == moved


def test_only_a_visit_that_moved_counts_one_more_revision() -> None:
    before = told(plan())
    old, new = by_identity(before), by_identity(told(with_cedar_moved(), before))
    assert old.keys() == new.keys()
    moved = {uid for uid, one in new.items() if one.start != old[uid].start}
    assert len(moved) == 1
    for uid, one in new.items():
        assert int(one["sequence"]) == (uid in moved)
        assert (one["dtstamp"].dt > old[uid]["dtstamp"].dt) == (uid in moved)
        assert one["last-modified"].dt == one["dtstamp"].dt


def test_a_visit_moved_there_and_back_goes_on_counting() -> None:
    text = told(plan())
    for number, made in enumerate((with_cedar_moved(), plan(), with_cedar_moved()), start=1):
        text = told(made, text)
        cedar = next(one for summary, one in events(text).items() if "Cedar" in summary)
        assert int(cedar["sequence"]) == number


def test_a_visit_no_longer_planned_is_called_off_and_can_come_back() -> None:
    before = told(plan())
    off = told(without_cedar(), before)
    cedar = next(one for summary, one in events(off).items() if "Cedar" in summary)
    assert (str(cedar["status"]), int(cedar["sequence"])) == ("CANCELLED", 1)
    assert cedar.start == by_identity(before)[str(cedar["uid"])].start
    assert sum("status" in one for one in events(off).values()) == 1
    assert told(without_cedar(), off) == off
    again = events(told(plan(), off))
    cedar = next(one for summary, one in again.items() if "Cedar" in summary)
    assert ("status" in cedar, int(cedar["sequence"])) == (False, 2)


def test_what_lies_outside_the_days_of_the_plan_is_left_alone() -> None:
    before = told(plan())
    for days in ({"from": "2026-09-17"}, {"to": "2026-09-15"}):
        assert not any("status" in e for e in events(told(without_cedar() | days, before)).values())


def test_a_later_plan_stamps_what_it_changes_with_its_own_day() -> None:
    later = with_cedar_moved() | {"from": "2026-09-16"}
    stamps = {
        summary.partition(". ")[2][:5]: one["dtstamp"].dt
        for summary, one in events(told(later, told(plan()))).items()
    }
    first = datetime(2026, 9, 14, tzinfo=UTC)
    assert stamps == {"Alder": first, "Birch": first, "Cedar": first + timedelta(days=2)}


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("DTSTAMP:2026", "DTSTAMP:soon"),
        ("000000Z", "000000"),
        ("SEQUENCE:0", "SEQUENCE:many"),
        ("UID:", "X-UID:"),
    ],
)
def test_an_earlier_calendar_that_is_not_ours_any_more_is_one_sentence(old: str, new: str) -> None:
    with pytest.raises(InputFaultsError) as caught:
        told(plan(), told(plan()).replace(old, new))
    (fault,) = caught.value.faults
    assert fault.file == "0/calendar.ics"
    assert "as turfmap wrote it" in str(fault)


def test_only_a_calendar_that_turfmap_wrote_is_read(tmp_path: Path) -> None:
    file = tmp_path / "calendar.ics"
    assert read_written(file, mark=CALENDAR_MARK) is None
    file.write_text(told(plan()).replace("turfmap", "another"), encoding="utf-8")
    assert read_written(file, mark=CALENDAR_MARK) is None
    file.write_bytes(told(plan()).encode())
    assert read_written(file, mark=CALENDAR_MARK) == told(plan())
    with pytest.raises(InputFaultsError, match="too large"):
        read_written(file, mark=CALENDAR_MARK, most_bytes=500)
