"""The day sheet: what a crew takes along on paper, a sheet a property."""

import base64
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from turfmap.foundations.dates import day_words
from turfmap.foundations.definitions import table
from turfmap.foundations.units import distance_words, square_feet
from turfmap.views import assets
from turfmap.views.crew_page import tank_lines
from turfmap.views.offline_page import escaped, standing_alone
from turfmap.views.plan_drawing import letter, plan_drawing
from turfmap.views.visit_plan import STANDING_CAUTIONS, PlanNoSpray, PlanThing, PlanZone, VisitPlan

NOT_SURVEYED = (
    "Water, wells, hives and play areas: not surveyed: unknown. Nobody has noted a look; every zone"
    " waits until somebody has looked."
)
_LABEL_WORDS = {
    "registration_number": "Registration number",
    "wind": "Wind, label",
    "air": "Air, label",
    "droplet": "Droplets, label",
    "reentry": "Keep off for",
    "rainfast": "No rain for",
}
# Written down on the spot, for the record (table record_rule).
_TO_WRITE = (
    ("Began at", "Ended at"),
    ("Applied by", "Licence number"),
    ("Product used", "Ground treated"),
    ("Wind, and from", "Air"),
    ("Equipment", "Signed"),
)


def day_sheet(plans: Sequence[VisitPlan], *, title: str) -> str:
    """Return the sheets as one HTML page that fetches nothing, runs nothing, and prints.

    Text may hold anything: it is shown. The same plans give the same page, to the byte.

    Parameters
    ----------
    plans
        One property each, in the order of the day.
    title
        The document's name.
    """
    parts = {
        "title": escaped(title),
        "style": f"<style>\n{assets.own_page('day_sheet.css')}</style>",
        "sheets": "\n".join(_sheet(plan) for plan in plans),
    }
    return standing_alone(assets.own_page("day_sheet.html"), parts)


def _sheet(plan: VisitPlan) -> str:
    gap = "" if plan.surveyed_on else f'<p class="unknown">{escaped(NOT_SURVEYED)}</p>'
    parts = [
        f"<h1>{escaped(plan.property)}</h1>",
        _about(plan),
        gap,
        _figure(plan),
        _zones(plan.zones),
        _load(plan),
        _causes(plan),
        _things(plan.things),
        _lines("Signs and keeping off", plan.posting),
        _lines("Before you treat", _cautions(plan)),
        _to_write(),
    ]
    return f'<article class="sheet">{"".join(part for part in parts if part)}</article>'


def _cautions(plan: VisitPlan) -> list[str]:
    minds = (mind for zone in plan.zones for mind in zone.minds)
    return list(dict.fromkeys([*STANDING_CAUTIONS, *plan.cautions, *minds]))


def _about(plan: VisitPlan) -> str:
    facts = {
        "Day": _when(plan.on),
        "Product": plan.product or "none named: nothing can be a go",
        "Where": plan.address,
        "Client": plan.client,
        "Given for the day": plan.weather,
        **{_LABEL_WORDS[name]: words for name, words in plan.label.items()},
    }
    lines = [
        f"<p>{escaped(name)}: <strong>{escaped(text)}</strong></p>"
        for name, text in facts.items()
        if text
    ]
    return f'<div class="about">{"".join(lines)}</div>'


def _when(on: str) -> str:
    day, _, clock = on.partition("T")
    words = day_words(date.fromisoformat(day))
    return f"{words}, {clock[:5]}" if clock else words


def _zones(zones: Sequence[PlanZone]) -> str:
    """Return the table of zones; what several of them share is written once below it."""
    reasons = list(dict.fromkeys(reason for zone in zones for reason in zone.reasons[1:]))
    changes = dict.fromkeys(change for zone in zones for change in zone.changes)
    rows = [
        [
            ("number", str(number)),
            ("name", zone.name),
            ("mark", zone.answer),
            ("number", _treatable(zone)),
            ("number", zone.amount),
            ("", _why(zone, reasons)),
        ]
        for number, zone in enumerate(zones, start=1)
    ]
    heads = [("number", "No."), ("name", "Zone"), ("", "Answer"), ("number", "Treatable, sq ft")]
    heads += [("number", "Product"), ("", "Why")]
    numbered = [f"R{number}: {reason}" for number, reason in enumerate(reasons, start=1)]
    return (
        f"<h2>Zones</h2>{_table(heads, rows)}{_lines('Reasons that zones share', numbered)}"
        f"{_lines('What would change an answer', changes)}"
    )


def _why(zone: PlanZone, reasons: Sequence[str]) -> str:
    others = _runs(sorted({reasons.index(one) + 1 for one in zone.reasons[1:]}))
    first = zone.reasons[0] if zone.reasons else ""
    return f"{first} Also {', '.join(others)}." if others else first


def _treatable(zone: PlanZone) -> str:
    """Return its treatable ground; none where nothing may be put down whatever is left."""
    if zone.answer == "no":
        return "–"
    return f"{square_feet(float(zone.area['treatable_m2'])):,.0f}"


def _runs(numbers: Sequence[int]) -> list[str]:
    """Return numbers of reasons in words, those that follow each other as one."""
    starts = [n for n in numbers if n - 1 not in numbers]
    ends = [n for n in numbers if n + 1 not in numbers]
    return [f"R{a}" if a == b else f"R{a} to R{b}" for a, b in zip(starts, ends, strict=True)]


def _figure(plan: VisitPlan) -> str:
    coded = base64.b64encode(plan_drawing(plan).encode("utf-8")).decode("ascii")
    zones = "; ".join(
        f"{number} {zone.name}: {zone.answer}" for number, zone in enumerate(plan.zones, start=1)
    )
    said = f"Plan of {plan.property}. Zones: {zones or 'none'}."
    caption = (
        "North is up. Black cross-hatch: no-spray ground, by its letter below. Zones by their"
        " number: plain go, dotted wait, lined no."
    )
    return (
        f'<figure><img alt="{escaped(said)}" src="data:image/svg+xml;base64,{coded}">'
        f"<figcaption>{escaped(caption)}</figcaption></figure>"
    )


def _load(plan: VisitPlan) -> str:
    if plan.load is None:
        said = plan.load_faults or ["No product was named."]
        return f"<h2>Tank loads</h2><p>No load was worked out:</p>{_list(said)}"
    load = plan.load
    rows = [row for mix in load["loads"] for row in _mix_rows(mix)]
    heads = [("", "What"), ("number", "Times"), ("number", "Volume"), ("number", "Product")]
    heads += [("number", "For, sq ft"), ("", "On zones")]
    left = [f"{one['zone']}: {'; '.join(one['why'])}." for one in load["left_out"]]
    parts = [f"<h2>Tank loads</h2>{_table(heads, rows)}"]
    parts += [f"<p>In all exactly {escaped(load['exact']['words'])}.</p>"]
    parts += [f"<p>Not on:</p>{_list(left)}"] if left else []
    parts += [f"<p>To be answered first:</p>{_list(load['asks'])}"] if load["asks"] else []
    return "".join(parts)


def _mix_rows(mix: Mapping[str, Any]) -> list[list[tuple[str, str]]]:
    zones = ", ".join(zone["zone"] for zone in mix["zones"])
    spray = mix["spray"]
    tanks = tank_lines(spray["tanks"]) if spray and spray["tanks"] else []
    volume = spray["volume"]["words"] if spray else ""
    covers = f"{square_feet(mix['area_m2']):,.0f}"
    whole = [
        ("", f"All, at {mix['rate']}" + (f" in {spray['carrier']}" if spray else "")),
        ("number", ""),
        ("number", volume),
        ("number", mix["exact"]["words"]),
        ("number", covers),
        ("", zones),
    ]
    fillings = [
        [
            ("", "Tank"),
            ("number", str(tank["count"])),
            ("number", tank["volume"]),
            ("number", tank["product"]),
            ("number", f"{tank['covers_sqft']:,}"),
            ("", ""),
        ]
        for tank in tanks
    ]
    return [whole, *fillings]


def _causes(plan: VisitPlan) -> str:
    title = "<h2>No-spray ground, and why</h2>"
    if not plan.no_spray:
        none = "No water, wells or sensitive sites are drawn near. Look all the same."
        return f"{title}<p>{none if plan.surveyed_on else escaped(NOT_SURVEYED)}</p>"
    words = kind_words()
    rows = [
        [
            ("", letter(index)),
            ("", words.get(one.category, one.category.replace("_", " "))),
            ("", one.name),
            ("number", distance_words(one.distance_m)),
            ("number", distance_words(one.margin_m)),
            ("", _side(one)),
        ]
        for index, one in enumerate(plan.no_spray)
    ]
    heads = [("", "Letter"), ("", "What"), ("", "Name"), ("number", "Setback")]
    heads += [("number", "More, for its edge"), ("", "Where")]
    return title + _table(heads, rows)


def _side(one: PlanNoSpray) -> str:
    return "where the wind blows toward it" if one.downwind_only else "all round"


def kind_words() -> dict[str, str]:
    """Return the words for every kind of water, sensitive site and obstacle."""
    tables = ("obstacle_kind", "water_kind", "sensitive_kind")
    return {row["kind"]: row["words"] for name in tables for row in table(name).rows}


def _things(things: Sequence[PlanThing]) -> str:
    words = kind_words()
    lines = [
        ". ".join(part for part in (f"{_layer(one, words)}: {one.name}", one.notes) if part)
        for one in things
        if one.layer in {"gate", "obstacle"} or (one.layer == "sensitive_site" and one.notes)
    ]
    return _lines("Gates, obstacles, neighbours", lines)


def _layer(one: PlanThing, words: Mapping[str, str]) -> str:
    if one.layer == "gate":
        return "Gate"
    return words.get(one.kind, one.kind.replace("_", " ")).capitalize()


def _lines(title: str, lines: Iterable[str]) -> str:
    found = list(lines)
    return f"<h2>{escaped(title)}</h2>{_list(found)}" if found else ""


def _list(lines: Iterable[str]) -> str:
    return f"<ul>{''.join(f'<li>{escaped(line)}</li>' for line in lines)}</ul>"


def _table(heads: Sequence[tuple[str, str]], rows: Iterable[Sequence[tuple[str, str]]]) -> str:
    head = "".join(f'<th scope="col" class="{kind}">{escaped(text)}</th>' for kind, text in heads)
    body = "".join(f"<tr>{''.join(_cell(*cell) for cell in row)}</tr>" for row in rows)
    inside = f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody>"
    return f'<div class="wide"><table>{inside}</table></div>'


def _cell(kind: str, text: str) -> str:
    if kind == "mark":
        shown = f'<span class="answer is-{escaped(text)}">{escaped(text.upper())}</span>'
        return f'<td class="short">{shown}</td>'
    return f'<td class="{kind}">{escaped(text)}</td>'


def _to_write() -> str:
    rows = "".join(
        f'<tr><th scope="row">{left}</th><td></td><th scope="row">{right}</th><td></td></tr>'
        for left, right in _TO_WRITE
    )
    return f'<h2>Written down on the spot</h2><table class="blank"><tbody>{rows}</tbody></table>'
