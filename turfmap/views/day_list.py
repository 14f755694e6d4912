"""The day list with its load sheet: what a crew takes along on paper, a sheet an outing."""

from collections.abc import Iterable, Sequence

from turfmap.views import assets
from turfmap.views.offline_page import escaped, standing_alone
from turfmap.views.outings import (
    STANDING_CAUTIONS,
    Call,
    Outing,
    Plain,
    amount_words,
    clock_words,
    load_words,
    note_words,
    outings,
    sums_words,
    weekday_words,
    zone_words,
)

_HEADS = ("No.", "Arrive", "Start", "Leave", "Stop", "Task, zones", "Takes", "Mind", "Done")


def day_list(plan: Plain, *, title: str) -> str:
    """Return a sheet an outing as one HTML page that fetches nothing, runs nothing, and prints.

    Text may hold anything: it is shown. The same plan gives the same page, to the byte.

    Parameters
    ----------
    plan
        A result of `turfmap.desk.spray_days.spray_days`.
    title
        The document's name.
    """
    found = outings(plan)
    sheets = [_sheet(plan, outing) for outing in found] or [_nothing(plan)]
    style = assets.own_page("day_sheet.css") + assets.own_page("days/day_list.css")
    parts = {
        "title": escaped(title),
        "style": f"<style>\n{style}</style>",
        "sheets": "\n".join(["<main>", *sheets, "</main>"]),
    }
    return standing_alone(assets.own_page("day_sheet.html"), parts)


def _nothing(plan: Plain) -> str:
    cautions = _lines("Before you treat", [*STANDING_CAUTIONS, *plan["cautions"]])
    return f'<article class="sheet"><h1>No stops are planned</h1>{cautions}</article>'


def _sheet(plan: Plain, outing: Outing) -> str:
    cautions = dict.fromkeys([*STANDING_CAUTIONS, plan["travel"]["basis"], *plan["cautions"]])
    parts = [
        f"<h1>{escaped(outing.title)}</h1>",
        _about(outing),
        _loads(outing),
        f"<h2>Stops in order</h2>{_stops(outing)}",
        _lines("Before you treat", cautions),
    ]
    return f'<article class="sheet days">{"".join(parts)}</article>'


def _about(outing: Outing) -> str:
    of = outing.of
    facts = {
        "Day": weekday_words(of["day"]),
        "Truck": of["truck"],
        "Crew": of["crew"],
        "Out and back": f"{clock_words(of['leaves'])} to {clock_words(of['returns'])}",
        "In all": sums_words(outing),
        "Weather": of["weather"],
        "One more hour or tank": f"{of['saves']['hour']['words']} {of['saves']['tank']['words']}",
    }
    lines = [
        f"<p>{escaped(name)}: <strong>{escaped(text)}</strong></p>"
        for name, text in facts.items()
        if text
    ]
    return f'<div class="about">{"".join(lines)}</div>'


def _loads(outing: Outing) -> str:
    lines = [load_words(mix) for mix in outing.of["mixes"]] or ["Nothing is put down."]
    refills = [call.leg for call in outing.calls if call.stop is None]
    lines += [
        f"Fill again {clock_words(one['arrives'])} to {clock_words(one['ends'])}."
        for one in refills
    ]
    unready = [
        f"{call.leg['number']} {call.stop['property']}: {why}"
        for call in outing.stops
        if call.stop is not None
        for why in call.stop["not_ready"]
    ]
    return _lines("Load", lines) + _lines("No load can be mixed for these yet", unready)


def _stops(outing: Outing) -> str:
    named = escaped(f"Stops in order, {outing.title}, out {clock_words(outing.of['leaves'])}")
    rows = [_row(call) for call in outing.calls]
    rows.append(["", clock_words(outing.of["returns"]), "", "", "Depot", "", "", "", ""])
    head = "".join(f'<th scope="col">{escaped(text)}</th>' for text in _HEADS)
    body = "".join(
        "<tr>" + "".join(f"<td>{escaped(text)}</td>" for text in row) + "</tr>" for row in rows
    )
    inside = f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody>"
    wide = f'class="wide" role="region" aria-label="{named}" tabindex="0"'
    return f"<div {wide}><table>{inside}</table></div>"


def _row(call: Call) -> Sequence[str]:
    leg, stop = call.leg, call.stop
    arrives, ends = clock_words(leg["arrives"]), clock_words(leg["ends"])
    if stop is None:
        return ["", arrives, "", ends, "Depot: fill again", "", "", "", ""]
    address = stop["address"] if stop["address"] != stop["property"] else ""
    where = ", ".join(part for part in (stop["property"], address, stop["client"]) if part)
    return [
        str(leg["number"]),
        arrives,
        clock_words(leg["starts"]),
        ends,
        where,
        f"{stop['title']}: {zone_words(stop)}",
        amount_words(stop),
        ". ".join(note_words(stop)),
        "☐",
    ]


def _lines(title: str, lines: Iterable[str]) -> str:
    found = "".join(f"<li>{escaped(line)}</li>" for line in lines)
    return f"<h2>{escaped(title)}</h2><ul>{found}</ul>" if found else ""
