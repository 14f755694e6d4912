"""What visits leave of an active ingredient: the label's interval and its annual limit.

Only visits that say what was put down count here; one whose amount nobody wrote down leaves the
year's sum unknown, and unknown holds.
"""

from collections.abc import Sequence
from datetime import timedelta

import numpy as np

from turfmap.foundations.dates import day_words
from turfmap.foundations.definitions import Row
from turfmap.season.against import Against, nothing
from turfmap.season.case import Case, Days, Moment
from turfmap.season.visits import Visit
from turfmap.season.weather import Floats

YEAR_D = 365
ROUNDING = 1e-9


def applications(active: str, case: Case) -> list[Visit]:
    """Return the visits at which an active ingredient was put down, oldest first."""
    found = [visit for done in case.visits.values() for visit in done if active in visit.actives]
    return sorted(found, key=lambda visit: visit.day)


def too_soon(facts: Row, case: Case) -> Against:
    """Return whether the interval between two applications has not passed.

    The label in the product book counts where it asks for more than the table. An interval that
    neither has is in doubt for as long as the longest that the table knows of any.
    """
    longest_d = max(int(row["retreat_d"] or 0) for row in case.rules.actives.values())
    waits = []
    for visit in applications(facts["active_ingredient"], case):
        known = [wait for wait in (facts["retreat_d"], visit.label.retreat_d) if wait is not None]
        waits.append((visit, int(max(known, default=longest_d)), bool(known)))
    until = {True: np.zeros(len(case.days), dtype=np.int64)}
    until[False] = until[True].copy()
    for visit, wait_d, is_known in waits:
        done = visit.day.toordinal()
        ends = np.where(case.days >= done, done + wait_d, 0)
        until[is_known] = np.maximum(until[is_known], ends)
    is_early = case.days < until[True]
    lacks = ~is_early & (case.days < until[False])

    def words(moment: Moment) -> str:
        mine = [
            (visit.day + timedelta(days=wait_d), visit, wait_d)
            for visit, wait_d, is_known in waits
            if visit.day <= moment.as_of and is_known == is_early[moment.place]
        ]
        ends, visit, wait_d = max(mine, key=lambda one: one[0])
        put_down = f"put down on {day_words(visit.day)}"
        if not is_early[moment.place]:
            return f"{put_down}, and the days to the next are not entered: read them off the label"
        by = f" by {visit.label.words}" if wait_d > (facts["retreat_d"] or 0) else ""
        return f"{put_down}, and again after {wait_d} days{by}, {day_words(ends)}, at the earliest"

    return Against(is_early | lacks, lacks, words)


def annual(facts: Row, case: Case) -> Against:
    """Return whether one more application would pass the annual limit, as far as it is known."""
    done = applications(facts["active_ingredient"], case)
    if not done:
        return nothing(case)
    most, by = _most(facts, done)
    least = facts["single_low_lb_per_acre"] or facts["single_high_lb_per_acre"]
    sums, unknown = _year(facts["active_ingredient"], done, case)
    put_down = (sums > 0) | (unknown > 0)
    if most is None:
        return Against(put_down, put_down, lambda moment: _limit_unknown(unknown, sums, moment))
    # What nobody wrote down was at least the least that the label names.
    reached = put_down & (sums + (unknown + 1) * (least or 0.0) > most + ROUNDING)
    reached |= put_down & (sums > most - ROUNDING)
    lacks = put_down & ~reached & ((unknown > 0) | (least is None))

    def words(moment: Moment) -> str:
        count, amount = int(unknown[moment.place]), float(sums[moment.place])
        limit = f"{most:g} lb per acre{by}"
        if reached[moment.place]:
            return f"the annual limit of {limit} is reached ({_sum(amount, count)})"
        mend = "write down how much" if count else "read off the label whether one more passes it"
        return f"{_sum(amount, count)} of the {limit} a year: {mend}"

    return Against(reached | lacks, lacks, words)


def _most(facts: Row, done: Sequence[Visit]) -> tuple[float | None, str]:
    """Return the annual limit [lb per acre] and whose it is: the stricter of table and labels.

    What the table lacks is known only if every product that was put down has it in the book.
    """
    of_labels = [dict(visit.label.annual_max).get(facts["active_ingredient"]) for visit in done]
    known = [
        (limit, f" by {visit.label.words}")
        for limit, visit in zip(of_labels, done, strict=True)
        if limit is not None
    ]
    shipped = facts["annual_max_lb_per_acre"]
    if shipped is not None:
        known.insert(0, (float(shipped), ""))
    elif len(known) < len(done):
        return None, ""
    return min(known, key=lambda one: one[0])


def _year(active: str, done: Sequence[Visit], case: Case) -> tuple[Floats, Days]:
    """Return the sum put down in the year before each day, and how many amounts are not known."""
    sums, unknown = np.zeros(len(case.days)), np.zeros(len(case.days), dtype=np.int64)
    for visit in done:
        age_d = case.days - visit.day.toordinal()
        counts = (age_d >= 0) & (age_d < YEAR_D)
        lb_per_acre = dict(visit.put_down)[active]
        if lb_per_acre is None:
            unknown += counts
        else:
            sums += counts * lb_per_acre
    return sums, unknown


def _limit_unknown(unknown: Days, sums: Floats, moment: Moment) -> str:
    said = _sum(float(sums[moment.place]), int(unknown[moment.place]))
    return f"the annual limit is not entered ({said}): read it off the label"


def _sum(amount: float, unknown: int) -> str:
    parts = []
    if amount > 0:
        parts.append(f"{amount:g} lb per acre put down within 12 months")
    if unknown:
        times = "once" if unknown == 1 else f"{unknown} times"
        parts.append(f"put down {times} within 12 months in an amount that nobody wrote down")
    return " and ".join(parts)
