"""How long seed waits for the active ingredients that visits put down."""

from collections.abc import Sequence
from datetime import date

import numpy as np

from turfmap.foundations.dates import day_words
from turfmap.foundations.definitions import Row
from turfmap.season.case import Case, Days, Moment
from turfmap.season.finding import Hold, Work, either
from turfmap.season.finding import with_detail as detailed
from turfmap.season.rules import listed
from turfmap.season.visits import Visit

INSECTICIDE = "insecticide"

Waiting = tuple[Visit, int, bool]  # a visit, days that seed waits for it, whether that is known


def reseed_interval(row: Row, _work: Work, case: Case) -> Hold:
    """Hold seed for the wait of each active ingredient put down; ask where it is not known.

    It counts by what was put down, whatever for, and by the label in the product book where that
    is stricter. Where nobody wrote down what was applied, or its wait is not known, seed is held
    for the days of the row and asked about for as many again.
    """
    found = [
        (visit, *_wait(visit, row, case))
        for task, done in case.visits.items()
        for visit in done
        if visit.is_of_actives or task in listed(row["other_tasks"])
    ]
    seed, doubt = _ends(found, row, case)
    held, lacks = case.days < seed, case.days < doubt

    def held_words(moment: Moment) -> str:
        until = date.fromordinal(int(seed[moment.place]))
        return f"{_named(found, row, moment)} Held until {day_words(until)}."

    def ask_words(moment: Moment) -> str:
        ask = "Its wait before seed is not entered: read it off the label"
        if any(visit.may_hold for visit in _counting(found, row, moment)):
            ask = "Which active ingredient, at what rate? Read the wait before seed off its label"
        return f"{_named(found, row, moment)} {ask}; it may be up to a year."

    return either(row, held, lacks, detailed(row, held_words), detailed(row, ask_words))


def _wait(visit: Visit, row: Row, case: Case) -> tuple[int, bool]:
    """Return the days to wait after a visit, and whether nothing about them is in doubt."""
    facts = [case.rules.actives[name] for name in visit.actives]
    # An insecticide leaves seed alone.
    waits_wk = [one["reseed_wk"] for one in facts if one["use"] != INSECTICIDE]
    label_wk = visit.label.reseed_wk
    if label_wk is not None:
        waits_wk = [label_wk, *(label_wk if wait is None else wait for wait in waits_wk)]
    is_known = not visit.may_hold and None not in waits_wk
    known_d = [round(wait * 7) for wait in waits_wk if wait is not None]
    return max([*known_d, 0 if is_known else int(row["days"])]), is_known


def _ends(found: Sequence[Waiting], row: Row, case: Case) -> tuple[Days, Days]:
    """Return the days from which seed is known to take, and from which nothing is in doubt."""
    seed = np.zeros(len(case.days), dtype=np.int64)
    doubt = seed.copy()
    for visit, wait_d, is_known in found:
        done = visit.day.toordinal()
        by_then = case.days >= done
        seed = np.where(by_then, np.maximum(seed, done + wait_d), seed)
        if not is_known:
            doubt = np.where(by_then, np.maximum(doubt, done + 2 * int(row["days"])), doubt)
    return seed, doubt


def _counting(found: Sequence[Waiting], row: Row, moment: Moment) -> list[Visit]:
    """Return the visits that still hold seed on a day, or leave it in doubt, oldest first."""
    counting = []
    for visit, wait_d, is_known in found:
        lasts_d = wait_d if is_known else max(wait_d, 2 * int(row["days"]))
        if 0 <= (moment.as_of - visit.day).days < lasts_d:
            counting.append(visit)
    return sorted(counting, key=lambda visit: visit.day)


def _named(found: Sequence[Waiting], row: Row, moment: Moment) -> str:
    """Return what was put down and still counts, with its day."""
    parts = []
    for visit in _counting(found, row, moment):
        what = ", ".join(visit.actives) or visit.product or "nobody wrote down what"
        by = f" ({visit.label.words})" if visit.label.reseed_wk is not None else ""
        parts.append(f"{day_words(visit.day)}: {what}{by}")
    return f"{'; '.join(parts)}."
