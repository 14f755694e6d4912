"""What is known, with something else supposed: nothing of it is ever written down."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import numpy as np

from turfmap.foundations.dates import day_words
from turfmap.foundations.definitions import map_layer, parsed, table
from turfmap.foundations.errors import Fault, InputFaultsError
from turfmap.foundations.units import MILLIMETRES_PER_INCH
from turfmap.season.rules import Rules, listed
from turfmap.season.situations import Columns, Rows
from turfmap.season.weather import Floats, Weather

RAIN_DAYS = 14
MOST_RAIN_IN = 20.0
# What may be supposed of a zone, and the table that has words for it by a column of that name.
ZONE_FACTS = {"species": "turf_species", "bed_type": "bed_type", "soil": "soil", "irrigated": ""}


@dataclass(frozen=True)
class Known:
    """All that zones are judged by; see `turfmap.season.due.due`."""

    zones: Columns
    answers: Rows
    visits: Rows
    weather: Sequence[Weather]


@dataclass(frozen=True)
class Supposing:
    """One thing supposed: what it changes, and how it is said."""

    apply: Callable[[Known], Known]
    words: str


def supposing(
    given: Sequence[tuple[str, str]], known: Known, *, as_of: date, rules: Rules
) -> tuple[Known, list[str]]:
    """Return what is known with some things supposed, and how each is said.

    Parameters
    ----------
    given
        Pairs of a name and what is supposed of it: ``overseed`` (a date, or none or done),
        ``rain`` (inches in the 14 days up to `as_of`), a fact of the zones, a question of the
        table question, or a task and the date on which it was done, with the product or active
        ingredient behind it.
    known
        What is known.
    as_of
        The day asked about.

    Raises
    ------
    InputFaultsError
        With one fault for each that is not understood.
    """
    faults, words = [], []
    for name, value in given:
        try:
            one = _one(name, value, as_of=as_of, rules=rules)
        except ValueError as error:
            mend = _mend(rules)
            faults.append(Fault("", f"--what-if {name}={value}", str(error), mend))
        else:
            known = one.apply(known)
            words.append(one.words)
    if faults:
        raise InputFaultsError(faults)
    return known, words


def _one(name: str, value: str, *, as_of: date, rules: Rules) -> Supposing:
    if name == "overseed":
        return _overseed(value, as_of, rules)
    if name == "rain":
        return _rain(value, as_of)
    if name in ZONE_FACTS:
        return _fact(name, value)
    if name in rules.questions:
        return _answered(name, value, None, as_of, rules)
    if name in rules.task.by("task"):
        day, _, product = value.partition(" ")
        return _done(name, date.fromisoformat(day), product.strip(), rules)
    raise ValueError(f"nothing is called {name!r}")


def _mend(rules: Rules) -> str:
    return (
        "write overseed=DATE, rain=INCHES, a fact of the zones"
        f" ({', '.join(ZONE_FACTS)}), a question ({', '.join(rules.questions)})"
        " or TASK=DATE or 'TASK=DATE PRODUCT'; dates as YYYY-MM-DD"
    )


def _overseed(value: str, as_of: date, rules: Rules) -> Supposing:
    if value in listed(rules.questions["overseeding"]["answers"]):
        return _answered("overseeding", value, None, as_of, rules)
    return _answered("overseeding", "planned", date.fromisoformat(value), as_of, rules)


def _answered(question: str, answer: str, day: date | None, as_of: date, rules: Rules) -> Supposing:
    allowed = listed(rules.questions[question]["answers"])
    if answer not in allowed:
        raise ValueError(f"{answer!r} is not an answer to it; those are {', '.join(allowed)}")

    def apply(known: Known) -> Known:
        others = [row for row in known.answers if row["question"] != question]
        said = {"question": question, "answer": answer, "date": day, "answered_on": as_of}
        return replace(known, answers=[*others, *(place | said for place in _places(known))])

    when = f" for {day_words(day)}" if day else ""
    return Supposing(apply, f"{question.replace('_', ' ')} is answered {answer}{when}")


def _done(task: str, day: date, product: str, rules: Rules) -> Supposing:
    def apply(known: Known) -> Known:
        visit = {"task": task, "date": day, "product": product or None}
        done = [place | visit for place in _places(known)]
        return replace(known, visits=[*known.visits, *done])

    title = rules.task.by("task")[task]["title"]
    with_what = f" with {product}" if product else ""
    words = f"{title[:1].lower()}{title[1:]} is done on {day_words(day)}{with_what}"
    return Supposing(apply, words)


def _places(known: Known) -> list[dict[str, Any]]:
    pairs = zip(known.zones["property"], known.zones["name"], strict=True)
    return [{"property": of, "zone": name} for of, name in pairs]


def _fact(name: str, value: str) -> Supposing:
    fact = parsed(value, map_layer("zone").columns[name])
    words = table(ZONE_FACTS[name]).by(name)[fact]["words"] if ZONE_FACTS[name] else value

    def apply(known: Known) -> Known:
        count = len(known.zones["name"])
        return replace(known, zones={**known.zones, name: [fact] * count})

    return Supposing(apply, f"{name.replace('_', ' ')} is {words}")


def _rain(value: str, as_of: date) -> Supposing:
    inches = float(value)
    if not 0.0 <= inches <= MOST_RAIN_IN:
        raise ValueError(f"{value} in is not from 0 to {MOST_RAIN_IN:g} in")
    each_mm = inches * MILLIMETRES_PER_INCH / RAIN_DAYS

    def apply(known: Known) -> Known:
        return replace(
            known, weather=[with_rain(one, as_of, RAIN_DAYS, each_mm) for one in known.weather]
        )

    how_much = "no rain" if inches == 0 else f"{inches:g} in of rain, evenly spread,"
    return Supposing(apply, f"{how_much} fell in the {RAIN_DAYS} days up to {day_words(as_of)}")


def with_rain(weather: Weather, last: date, days: int, each_mm: float) -> Weather:
    """Return a record in which some rain falls on each of the days up to one [mm].

    The record grows to hold those days; nothing else is known of them.
    """
    begin = last - timedelta(days=days - 1)
    first = min(weather.first_day, begin) if weather.days else begin
    end = max(weather.last_day or last, last)
    count = (end - first).days + 1
    start = (weather.first_day - first).days if weather.days else 0

    def laid(column: Floats) -> Floats:
        found = np.full(count, np.nan)
        found[start : start + weather.days] = column
        return found

    rain_mm = laid(weather.rain_mm)
    place = (begin - first).days
    rain_mm[place : place + days] = each_mm
    return replace(
        weather,
        first_day=first,
        air_min_c=laid(weather.air_min_c),
        air_max_c=laid(weather.air_max_c),
        rain_mm=rain_mm,
        soil_2in_c=laid(weather.soil_2in_c),
        soil_4in_c=laid(weather.soil_4in_c),
        others={name: laid(column) for name, column in weather.others.items()},
    )
