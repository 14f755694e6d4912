"""A plan as calendar, tracks and sheets, read back by others than those who wrote them."""

import re
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

import icalendar
import pytest
from pypdf import PdfReader

from tests.views.plan_sample import BASIS, HOSTILE, plan
from turfmap.foundations.errors import InputFaultsError
from turfmap.views.calendar_file import FLOATING, calendar_text
from turfmap.views.day_list import day_list
from turfmap.views.pdf import printed
from turfmap.views.track_file import track_text
from turfmap.views.week_board import board_data, week_board

ZONE = "America/New_York"
GPX = "{http://www.topografix.com/GPX/1/1}"  # GPX 1.1, target namespace of its schema


def everything(_: str) -> str:
    return " ".join(HOSTILE)


def events(text: str) -> list[Any]:
    return list(icalendar.Calendar.from_ical(text).walk("VEVENT"))


# RFC 5545, 3.1: lines of at most 75 octets, ended by CR LF; 3.8.2.4: local time with its TZID.
def test_the_calendar_is_folded_and_its_times_are_those_of_the_place() -> None:
    text = calendar_text(plan(everything), time_zone=ZONE)
    lines = text.encode("utf-8").split(b"\r\n")
    assert lines[-1] == b""
    assert max(map(len, lines)) <= 75
    assert not any(b"\n" in line or b"\r" in line for line in lines)
    first = events(calendar_text(plan(), time_zone=ZONE))[0]
    assert first.start.astimezone(UTC) == datetime(2026, 9, 14, 11, 40, tzinfo=UTC)
    assert "DTSTART;TZID=America/New_York:20260914T074000" in text


# RFC 5545, 3.6.5: every TZID has its VTIMEZONE; the rules of New York from the IANA database: the
# clock went back on 1 Nov 2026, so the definition must hold both offsets.
def test_the_calendar_carries_the_rules_of_its_time_zone() -> None:
    text = calendar_text(plan(), time_zone=ZONE)
    found: list[Any] = list(icalendar.Calendar.from_ical(text).walk("VTIMEZONE"))
    (rules,) = found
    carried = rules.to_tz(lookup_tzid=False)
    for month in (9, 10, 11, 12):
        noon = datetime(2026, month, 15, 12)
        expected = noon.replace(tzinfo=ZoneInfo(ZONE)).utcoffset()
        assert noon.replace(tzinfo=carried).utcoffset() == expected


def test_without_a_time_zone_times_float_and_the_calendar_says_so() -> None:
    text = calendar_text(plan())
    assert events(text)[0].start == datetime(2026, 9, 14, 7, 40)
    assert "VTIMEZONE" not in text
    assert FLOATING in str(icalendar.Calendar.from_ical(text)["description"])
    with pytest.raises(InputFaultsError, match="no time zone 'Mars/Olympus'"):
        calendar_text(plan(), time_zone="Mars/Olympus")


def test_a_stop_keeps_its_identity_when_its_day_moves() -> None:
    before = plan()
    after = plan()
    after["days"][1] |= {"day": "2026-09-17"}
    for leg in after["days"][1]["legs"]:
        leg |= {key: leg[key].replace("-16T", "-17T") for key in ("arrives", "starts", "ends")}
    old, new = ({str(e["uid"]): e.start for e in events(calendar_text(p))} for p in (before, after))
    assert old.keys() == new.keys()
    assert len(old) == 3
    assert old != new


def test_hostile_text_adds_no_event_and_breaks_no_track() -> None:
    found = events(calendar_text(plan(everything), time_zone=ZONE))
    assert len(found) == 3
    assert all("END:VEVENT" in str(one["location"]) for one in found)
    root = ElementTree.fromstring(track_text(plan(everything)))  # noqa: S314 - we wrote it
    assert len(root.findall(f"{GPX}wpt")) == 3


def test_tracks_have_a_route_a_truck_day_from_depot_to_depot() -> None:
    root = ElementTree.fromstring(track_text(plan()))  # noqa: S314 - we wrote it
    routes = [
        [point.findtext(f"{GPX}name") for point in route.findall(f"{GPX}rtept")]
        for route in root.findall(f"{GPX}rte")
    ]
    assert routes[0] == ["Depot", "1 Alder", "Refill", "2 Birch", "Depot"]
    assert routes[1] == ["Depot", "1 Cedar", "Depot"]
    assert root.findtext(f"{GPX}metadata/{GPX}desc") == BASIS


def test_a_second_time_gives_the_same_bytes() -> None:
    for write in (calendar_text, track_text):
        assert write(plan()) == write(plan())
    assert day_list(plan(), title="x") == day_list(plan(), title="x")
    assert week_board(plan(), title="x") == week_board(plan(), title="x")


def test_the_list_says_order_loads_refills_gates_and_cautions(tmp_path: Path) -> None:
    file = tmp_path / "list.pdf"
    file.write_bytes(printed(day_list(plan(), title="Days")))
    pages = PdfReader(file).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    for said in (
        "Mon 14 Sep 2026, Truck 1",
        "25.0 gal of Barrier spray: 1.25 × tank of 20 gal",
        "Fill again 08:10 to 08:30",
        "Side gate, 3.8 ft wide",
        "has not been confirmed from its label",
        "unknown never means go",
        BASIS,
    ):
        assert said in text
    assert text.index("Alder, Alder Lane 1") < text.index("Depot: fill again")
    assert text.index("Depot: fill again") < text.index("Birch, Birch Lane 1")
    box = pages[0].mediabox
    assert (float(box.width), float(box.height)) == (792, 612)  # US letter on its side [pt]


def test_what_cannot_be_mixed_yet_stands_on_the_sheet() -> None:
    made = plan()
    made["stops"][0]["not_ready"] = ["no carrier volume is known"]
    page = day_list(made, title="Days")
    assert "No load can be mixed for these yet" in page
    assert re.search(r"1 Alder: no carrier volume is known", page)


def test_the_board_has_every_day_every_truck_and_who_was_moved() -> None:
    found = board_data(plan())
    assert [day["words"] for day in found["days"]][::3] == ["Mon 14 Sep 2026", "Thu 17 Sep 2026"]
    assert all(len(day["trucks"]) == 2 for day in found["days"])
    cards = found["days"][0]["trucks"][0]["outings"][0]["stops"]
    assert [(card["number"], card["property"]) for card in cards] == [(1, "Alder"), (2, "Birch")]
    assert [card["was"] for card in cards] == ["", "Tue 15 Sep 2026"]
    said = found["moved"][0]
    assert "was Tue 15 Sep 2026, now Mon 14 Sep 2026, Truck 1. Weather of Tue" in said
    assert said.endswith("no hour is fit to spray in.")
    assert found["left_out"][0]["why"] == "no truck has hours left"
