"""The week board: days side by side, their trucks and stops as cards; to read, or to move them.

Two pages of one look: a file that fetches nothing, and a page of the local server on which a stop
is moved. The second holds nothing of the user's: everything comes later, to whoever has the key.
"""

from collections.abc import Iterable
from datetime import date, timedelta
from string import Template
from typing import Any

from turfmap.views import assets
from turfmap.views.offline_page import escaped, json_block, standing_alone
from turfmap.views.outings import (
    STANDING_CAUTIONS,
    Call,
    Outing,
    Plain,
    amount_words,
    clock_words,
    minutes_words,
    note_words,
    outings,
    sums_words,
    weekday_words,
)

PAGE, _STYLE, _SCRIPT = "board.html", "board.css", "board.js"
_STYLES = ("map.css", "days/board.css")
_SHARED = ("words.js", "days/board.js")
_OFFLINE = ("data.js", "days/board_start.js")
_LIVE = ("draw/server.js", "days/board_moves.js", "days/board_live.js")


def week_board(plan: Plain, *, title: str) -> str:
    """Return the board as one HTML page that fetches nothing; the same plan, the same page.

    Parameters
    ----------
    plan
        A result of `turfmap.desk.spray_days.spray_days`. Its text may hold anything.
    title
        What the page is called.
    """
    cautions = dict.fromkeys([*STANDING_CAUTIONS, *plan["cautions"]])
    parts = {
        "title": escaped(title),
        "style": f"<style>\n{_joined(_STYLES)}</style>",
        "cautions": "\n".join(f"<li>{escaped(caution)}</li>" for caution in cautions),
        "data": json_block("map-data", board_data(plan)),
        "scripts": "\n".join(
            f"<script>\n{assets.own_page(file)}</script>" for file in (*_SHARED, *_OFFLINE)
        ),
    }
    return standing_alone(assets.own_page("days/board_file.html"), parts)


def static_files() -> dict[str, tuple[bytes, str]]:
    """Return every file of the local page by name, each with its media type."""
    cautions = "\n".join(f"<li>{escaped(caution)}</li>" for caution in STANDING_CAUTIONS)
    page = Template(assets.own_page("days/board_live.html")).substitute(cautions=cautions)
    texts = {
        PAGE: (page, "text/html"),
        _STYLE: (_joined(_STYLES), "text/css"),
        _SCRIPT: (_joined((*_SHARED, *_LIVE)), "text/javascript"),
    }
    return {
        name: (text.encode("utf-8"), f"{kind}; charset=utf-8")
        for name, (text, kind) in texts.items()
    }


def _joined(files: Iterable[str]) -> str:
    return "\n".join(map(assets.own_page, files))


def _refills(count: int) -> str:
    return "1 refill" if count == 1 else f"{count:,} refills"


def board_data(plan: Plain) -> dict[str, Any]:
    """Return what a board shows of a plan, in words."""
    totals = plan["totals"]
    found = outings(plan)
    at: dict[tuple[str, str], list[Outing]] = {}
    for outing in found:
        at.setdefault((outing.of["day"], outing.of["truck"]), []).append(outing)
    trucks = [one["truck"] for one in plan["trucks"]]
    sums = (
        f"{totals['served']:,} of {totals['stops']:,} stops on {totals['truck_days']:,} truck-days:"
        f" {totals['driving_min']:,.0f} min driving, {totals['working_min']:,.0f} min working, "
        f"{totals['miles']:,.1f} miles, {_refills(totals['refills'])}."
    )
    return {
        "sums": sums,
        "basis": plan["travel"]["basis"],
        "days": [
            {
                "day": day,
                "words": weekday_words(day),
                "trucks": [
                    {"truck": truck, "outings": [_outing(one) for one in at.get((day, truck), ())]}
                    for truck in trucks
                ],
            }
            for day in _days(plan)
        ],
        "left_out": [
            {
                "stop": one["stop"],
                "property": one["property"],
                "why": one["why"],
                "last": weekday_words(one["last"]),
            }
            for one in plan["left_out"]
        ],
        "moved": [_moved(one) for one in plan["moved"]],
    }


def _days(plan: Plain) -> list[str]:
    first, last = (date.fromisoformat(plan[key]) for key in ("from", "to"))
    return [(first + timedelta(n)).isoformat() for n in range((last - first).days + 1)]


def _moved(one: Plain) -> str:
    to = one["to"]
    now = f"{weekday_words(to['day'])}, {to['truck']}" if to else "left out"
    was = weekday_words(one["from"]["day"])
    return f"{one['stop']}: was {was}, now {now}. Weather of {was}: {one['weather']}."


def _outing(outing: Outing) -> dict[str, Any]:
    of = outing.of
    return {
        "times": f"{clock_words(of['leaves'])} – {clock_words(of['returns'])}",
        "sums": sums_words(outing),
        "weather": of["weather"],
        "loads": [f"{mix['amount']:,.0f} {mix['unit']} of {mix['mix']}" for mix in of["mixes"]],
        "stops": [_card(call) for call in outing.stops],
    }


def _card(call: Call) -> dict[str, Any]:
    leg, stop = call.leg, call.stop or {}
    return {
        "stop": stop["stop"],
        "number": leg["number"],
        "property": stop["property"],
        "title": stop["title"],
        "starts": clock_words(leg["starts"]),
        "minutes": f"{minutes_words(stop['minutes'])} on site,"
        f" {minutes_words(leg['drive_min'])} to get there",
        "takes": amount_words(stop),
        "days": f"{weekday_words(stop['first'])} to {weekday_words(stop['last'])}",
        "notes": note_words(stop),
        "was": weekday_words(stop["was"]["day"])
        if stop["was"] and stop["was"]["day"] != stop["day"]
        else "",
    }
