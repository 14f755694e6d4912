"""What goes with a record: the elements that rules ask for, deadlines, and signs on the lawn."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any

from turfmap.desk.record_ground import is_chemical
from turfmap.foundations.dates import day_words
from turfmap.foundations.definitions import Row, table

CONFIRM = "unverified: confirm with your state"


def missing_elements(rows: Sequence[Mapping[str, Any]], need: str = "required") -> list[Row]:
    """Return the elements that a record lacks.

    Parameters
    ----------
    rows
        The record's rows of the layer visit.
    need
        Of the table ``record_rule``: required, or advised.

    Returns
    -------
    list of dict
        ``element``, ``words`` and ``rules`` (all that ask for it); empty for work without
        chemicals.
    """
    if not any(is_chemical(row) for row in rows):
        return []
    lacking: dict[str, Row] = {}
    for rule in table("record_rule").rows:
        name = rule["element"]
        if rule["need"] != need or all(_is_there(row.get(name)) for row in rows):
            continue
        found = lacking.setdefault(name, {"element": name, "words": rule["words"], "rules": []})
        found["rules"].append(rule["rule"])
    return list(lacking.values())


def _is_there(value: object) -> bool:
    return value is not None and value != ""


def deadlines(day: date) -> list[Row]:
    """Return by when a record of work on a day is written up, handed over, and kept until.

    Returns
    -------
    list of dict
        ``deadline``, ``date`` (ISO), ``words`` with the date in them.
    """
    found = []
    for row in table("record_deadline").rows:
        on = day + timedelta(days=row["days"]) if row["days"] else _years_on(day, row["years"])
        sure = "" if row["how_read"] == "read" else f" ({CONFIRM})"
        words = f"{row['words']} {row['bound']} {day_words(on)}{sure}"
        found.append({"deadline": row["deadline"], "date": on.isoformat(), "words": words})
    return found


def _years_on(day: date, years: int) -> date:
    try:
        return day.replace(year=day.year + years)
    except ValueError:  # 29 February
        return date(day.year + years, 3, 1)


def posting(state: str | None) -> list[str]:
    """Return what a state's rule says of signs on a treated lawn, in sentences.

    Parameters
    ----------
    state
        The property's state, two letters, its county or city behind a ``;``; None if nobody said.
    """
    row = table("posting").by("place").get((state or "").partition(";")[0].strip().upper())
    if row is None:
        where = f"for {state}" if state else "as the property has no state"
        return [f"Posting: no rule is known {where}: check your state."]
    sign = "; ".join(
        words
        for words in (
            f"wording {row['wording']}" if row["wording"] else "wording not read",
            row["sign"],
            _height_words(row),
            row["where"],
            f"stays {row['stays']}",
        )
        if words
    )
    lines = [f"Posting ({row['rule']}): {sign}."]
    lines += [row["other"]] if row["other"] else []
    return [*lines, "Only part of the rule was read: check your state before you rely on it."]


def _height_words(row: Row) -> str:
    low, high = row["above_ground_from_in"], row["above_ground_to_in"]
    if low is None:
        return ""
    above = f"{low:g} to {high:g} in" if high is not None else f"at least {low:g} in"
    return f"lower edge {above} above the ground"


def entry_words(day: date, end_time: str | None, reentry_h: float | None) -> str:
    """Return how long people stay off treated ground.

    Parameters
    ----------
    day, end_time
        When the application ended; HH:MM, or None if nobody said.
    reentry_h
        The product's re-entry interval, as its user entered it [h]; None if nobody did.

    References
    ----------
    Two products together: the longest time (read second hand, former 40 CFR 170.112(a)(3)); time
    runs from the end of the application (from memory).
    """
    longest = "and at least until it has dried; with two products the longer time counts."
    if reentry_h is None or not end_time:
        since = f"from its end at {end_time}" if end_time else "from the end of the application"
        return f"Keep people and pets off as long as the label says, counted {since}, {longest}"
    over = datetime.combine(day, time.fromisoformat(end_time)) + timedelta(hours=reentry_h)
    return (
        f"Keep people and pets off until {over:%H:%M} on {day_words(over.date())}"
        f" ({reentry_h:g} h after the end, as entered for this product), {longest}"
    )
