"""Letters before work and for a season: what is planned where, and what the client has to do."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from turfmap.days.answers import UNKNOWN, answers_for
from turfmap.days.knowledge import Knowledge, knowledge
from turfmap.days.product_rows import read_product
from turfmap.days.products import Product
from turfmap.desk.due import due
from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.letter_batch import Batch, Client, Draft, language_of
from turfmap.desk.own_rows import own_rows
from turfmap.desk.place import LON_LAT, with_property
from turfmap.desk.product_book import find_product, read_rows
from turfmap.foundations.definitions import Row, table
from turfmap.foundations.errors import input_fault
from turfmap.store import geopackage
from turfmap.views.letter_map import DrawnZone, letter_map
from turfmap.views.letter_words import Words, words

WE_WAIT = "We wait with this."
COMING, WAITING = frozenset({"due", "soon", "later"}), frozenset({"ask", "held"})


@dataclass(frozen=True)
class Period:
    """What letters are about.

    Attributes
    ----------
    first, last
        The days.
    tasks
        Only these; empty: all.
    product
        What will be applied, if that is settled.
    """

    first: date
    last: date
    tasks: frozenset[str] = frozenset()
    product: str | None = None


def before_work(
    path: Path, clients: Sequence[Client], batch: Batch, period: Period, *, as_of: date
) -> list[Draft]:
    """Return a draft for each client at whose place work is planned in a period.

    Raises
    ------
    InputFaultsError
        If a task or the product is not there.
    """
    _check_tasks(period)
    known = knowledge(own_rows(path))
    product = _product(path, period.product, known)
    answers = read_rows(path, "client_answer")
    work = _work(path, as_of, period)
    drafts = []
    for client in clients:
        said = words(language_of(client, batch))
        mine = [one for row in client.properties for one in work.get(row["name"], [])]
        coming = [one for one in mine if one["state"] in {"due", "soon"} and not one["holds"]]
        if not coming:
            continue
        facts = {
            "first": said.day(period.first),
            "last": said.day(period.last),
            "work": _grouped(coming, period, said, product, known),
            "waiting": sorted({said.gettext(one["title"]) for one in mine} - _titles(coming, said)),
            "pets": _pets([row["name"] for row in client.properties], answers, as_of),
            "sign": _sign(client.properties[0]["state"], said),
            "sources": _sources(coming, said),
        }
        drafts.append(Draft(client, facts))
    return drafts


def season(
    path: Path, clients: Sequence[Client], batch: Batch, period: Period, *, as_of: date
) -> list[Draft]:
    """Return a draft for each client with ground: what the season brings, and a map of it."""
    _check_tasks(period)
    work = _work(path, as_of, period)
    zones = _zones(path)
    does = _client_does()
    drafts = []
    for client in clients:
        said = words(language_of(client, batch))
        mine = [one for row in client.properties for one in work.get(row["name"], [])]
        ground = [zone for row in client.properties for zone in zones.get(row["name"], [])]
        if not ground:
            continue
        numbers = {(zone["property"], zone["name"]): n for n, zone in enumerate(ground, start=1)}
        coming = [one for one in mine if one["state"] in COMING and not one["holds"]]
        facts = {
            "first": said.day(period.first),
            "last": said.day(period.last),
            "ours": _grouped([one for one in coming if one["task"] not in does], period, said),
            "yours": _grouped([one for one in coming if one["task"] in does], period, said),
            "waiting": _waiting(mine, said),
            "zones": [
                {"number": number, "name": name, "of": of} for (of, name), number in numbers.items()
            ],
            "several": len(client.properties) > 1,
            "sources": _sources(mine, said),
        }
        drawn = [
            DrawnZone(numbers[zone["property"], zone["name"]], zone["kind"], zone["geometry"])
            for zone in ground
        ]
        drafts.append(Draft(client, facts, picture=letter_map(drawn)))
    return drafts


def _check_tasks(period: Period) -> None:
    if period.last < period.first:
        raise input_fault(f"{period.last} is before {period.first}", "turn the period round")
    unknown = sorted(period.tasks - set(table("task").by("task")))
    if unknown:
        raise input_fault(
            f"there is no task {unknown[0]!r}", "see turfmap layers task", record="--task"
        )


def _product(path: Path, name: str | None, known: Knowledge) -> Product | None:
    row = None if name is None else find_product(path, name)
    return None if row is None else read_product(row, record=row["name"], known=known)


def _work(path: Path, as_of: date, period: Period) -> dict[str, list[Row]]:
    """Return each task of each zone whose window meets the period, by property."""
    reminders = {row["task"] for row in table("task").rows if row["reminder"]}
    first, last = period.first.isoformat(), period.last.isoformat()
    found: dict[str, list[Row]] = {}
    for zone in due(path, as_of=as_of)["zones"]:
        for task in zone["tasks"]:
            wanted = not period.tasks or task["task"] in period.tasks
            if task["task"] in reminders or not wanted or task["state"] not in COMING | WAITING:
                continue
            opens, closes = task["opens"], task["closes"]
            if opens is None or opens > last or (closes or last) < first:
                continue
            row = {**task, "zone": zone["zone"], "property": zone["property"]}
            found.setdefault(zone["property"], []).append(row)
    return found


def _grouped(
    work: Iterable[Row],
    period: Period,
    said: Words,
    product: Product | None = None,
    known: Knowledge | None = None,
) -> list[dict[str, Any]]:
    """Return tasks with the zones that each is for, and the days of the period that are left."""
    tasks: dict[str, dict[str, Any]] = {}
    rows = table("task").by("task")
    for one in work:
        opens = max(period.first, date.fromisoformat(one["opens"]))
        closes = min(period.last, date.fromisoformat(one["closes"]))
        row = rows[one["task"]]
        entry = tasks.setdefault(
            one["task"],
            {
                "title": said.gettext(row["title"]),
                "tell": said.gettext(row["tell_client"]),
                "chemical": row["chemical"],
                "product": _product_facts(one["task"], product, known) if known else None,
                "zones": [],
                "first": opens,
                "last": closes,
            },
        )
        entry["zones"].append(one["zone"])
        entry["first"] = min(entry["first"], opens)
        entry["last"] = max(entry["last"], closes)
    found = sorted(tasks.values(), key=lambda entry: (entry["first"], entry["title"]))
    return [
        {**entry, "first": said.day(entry["first"]), "last": said.day(entry["last"])}
        for entry in found
    ]


def _product_facts(task: str, product: Product | None, known: Knowledge) -> dict[str, Any] | None:
    """Return what is known of the product on a task, None where it does not serve it."""
    if product is None or not any((task, one.name) in known.serving for one in product.actives):
        return None
    return {
        "name": product.name,
        "actives": [one.name for one in product.actives],
        "registration": product.row["registration_number"],
        "reentry_h": product.row["reentry_h"],
        "is_confirmed": product.is_confirmed,
    }


def _titles(work: Iterable[Row], said: Words) -> set[str]:
    return {said.gettext(one["title"]) for one in work}


def _waiting(work: Iterable[Row], said: Words) -> list[dict[str, Any]]:
    """Return what must wait and where, with what is told of it, alike work together.

    What opens later and would be held or asked about today is not promised either.
    """
    zones_of: dict[tuple[str, str], list[str]] = {}
    for one in work:
        if one["state"] in WAITING or one["holds"]:
            key = said.gettext(_plain_wait(one)), said.gettext(one["title"])
            zones_of.setdefault(key, []).append(one["zone"])
    told: dict[tuple[str, ...], list[str]] = {}
    for (tell, title), zones in zones_of.items():
        told.setdefault((tell, *dict.fromkeys(zones)), []).append(title)
    return [
        {"tell": tell, "titles": titles, "zones": zones} for (tell, *zones), titles in told.items()
    ]


def _client_does() -> set[str]:
    """Return the tasks that are the client's own to do."""
    return {row["task"] for row in table("after_care").rows if row["client_does"]}


def _plain_wait(one: Row) -> str:
    """Return what is told of something that waits; the letter names the task itself.

    The words for when the work is done would promise it; what the client does stays advice.
    """
    tell: str = one["tell_client"]
    told_of_work = table("task").by("task")[one["task"]]["tell_client"]
    is_promise = tell == told_of_work and one["task"] not in _client_does()
    return WE_WAIT if is_promise or tell.startswith("We wait with this:") else tell


def _pets(places: Iterable[str], answers: Sequence[Row], day: date) -> str:
    """Return what was answered of pets: none only if that was said of every place."""
    told = {
        answers_for({"property": of, "name": None}, answers, (), day).get("pets", UNKNOWN).answer
        for of in places
    }
    return told.pop() if len(told) == 1 else "some"


def _sign(state: str, said: Words) -> dict[str, Any] | None:
    """Return what is known of a state's rule for signs, None where there is none.

    What stands on the sign itself stays as the rule has it; `meaning` says it in the letter's
    language where that is another.
    """
    row: Mapping[str, Any] | None
    row = table("posting").by("place").get(state.partition(";")[0].strip().upper())
    if row is None:
        return None
    wording = row["wording"] or ""
    meaning = said.gettext(wording)
    if not wording.isupper():  # no words of a sign, but what is known of them
        wording = meaning
    return {
        "wording": wording,
        "meaning": "" if meaning == wording else meaning,
        "stays_h": row["stays_h"],
        "rule": said.gettext(row["rule"]),
    }


def _sources(work: Iterable[Row], said: Words) -> list[str]:
    """Return what it all rests on; titles stay in the language that they were printed in."""
    found = dict.fromkeys(source for one in work for source in one["sources"])
    return [said.gettext(source) for source in found]


def _zones(path: Path) -> dict[str, list[Row]]:
    frame = with_property(
        geopackage.read_layer(path, "zone").to_crs(LON_LAT),
        geopackage.read_layer(path, "property").to_crs(LON_LAT),
    )
    columns = (frame[name] for name in ("property", "name", "kind"))
    found: dict[str, list[Row]] = {}
    for of, name, kind, shape in zip(*columns, shapes_of(frame), strict=True):
        row = {"property": of, "name": name, "kind": kind, "geometry": shape}
        found.setdefault(of, []).append(row)
    return found
