"""What is due, judged part by part: whole properties, each with what was said and done there."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from turfmap.desk.engine import Engine
from turfmap.season import due as season
from turfmap.season.situations import Rows
from turfmap.season.what_if import Known

Plain = dict[str, Any]
Told = dict[str, list[Mapping[str, Any]]]


@dataclass(frozen=True)
class DuePart:
    """Some properties and all that their zones are judged by.

    Attributes
    ----------
    numbers
        Which zones of the whole these are.
    more
        Products and own rows, as `turfmap.season.due.judged_for` takes them.
    """

    numbers: Sequence[int]
    known: Known
    as_of: date
    why: bool
    more: Mapping[str, Any]


def judged(
    known: Known, *, as_of: date, why: bool, more: Mapping[str, Any], engine: Engine | None
) -> Plain:
    """Return what is due on every zone; see `turfmap.season.due.due`.

    Parameters
    ----------
    engine
        Who judges, part by part; None: this process. The answer is the same, to the letter.
    """
    whole = DuePart(range(len(known.zones["name"])), known, as_of, why, more)
    if engine is None or not whole.numbers:
        return _judged(whole)
    parts = list(_parts(whole, engine.size_of_a_part(len(whole.numbers))))
    # What is said of the weather is said of all of it, once.
    found = _judged(_among(whole, [], ({}, {})))
    zones: dict[int, Plain] = {}
    for part, here in zip(parts, engine.each(_zones, parts), strict=True):
        zones |= zip(part.numbers, here, strict=True)
    return found | {"zones": [zones[number] for number in whole.numbers]}


def _judged(part: DuePart) -> Plain:
    known = part.known
    return season.due(
        known.zones,
        answers=known.answers,
        visits=known.visits,
        weather=known.weather,
        as_of=part.as_of,
        why=part.why,
        **part.more,
    )


def _zones(part: DuePart) -> list[Plain]:
    found: list[Plain] = _judged(part)["zones"]
    return found


def _parts(whole: DuePart, size: int) -> Iterator[DuePart]:
    """Yield lots of whole properties: those of one weather cell together, in their order."""
    of_property: dict[tuple[int, str], list[int]] = {}
    zones = whole.known.zones
    for number, (cell, name) in enumerate(zip(zones["cell"], zones["property"], strict=True)):
        of_property.setdefault((cell, name), []).append(number)
    told = _by_property(whole.known.answers), _by_property(whole.known.visits)
    lot: list[int] = []
    for key in sorted(of_property, key=lambda key: key[0]):
        if lot and len(lot) + len(of_property[key]) > size:
            yield _with_its_weather(_among(whole, lot, told))
            lot = []
        lot += of_property[key]
    yield _with_its_weather(_among(whole, lot, told))


def _by_property(rows: Rows) -> Told:
    found: Told = defaultdict(list)
    for row in rows:
        found[row["property"]].append(row)
    return found


def _among(whole: DuePart, numbers: list[int], told: tuple[Told, Told]) -> DuePart:
    zones = {name: [column[n] for n in numbers] for name, column in whole.known.zones.items()}
    names = list(dict.fromkeys(zones["property"]))
    answers, visits = ([row for name in names for row in rows[name]] for rows in told)
    known = replace(whole.known, zones=zones, answers=answers, visits=visits)
    return replace(whole, numbers=numbers, known=known)


def _with_its_weather(part: DuePart) -> DuePart:
    """Return a part with the weather of its own cells and no others."""
    zones = part.known.zones
    cells = sorted(set(zones["cell"]))
    number = {cell: place for place, cell in enumerate(cells)}
    mine = {**zones, "cell": [number[cell] for cell in zones["cell"]]}
    weather = tuple(part.known.weather[cell] for cell in cells)
    return replace(part, known=replace(part.known, zones=mine, weather=weather))
