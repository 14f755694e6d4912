"""What visits leave of an active ingredient: the label's interval and its annual limit.

Only visits that say what was put down count here; one whose amount nobody wrote down leaves the
year's sum unknown, and unknown holds.
"""

from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np

from turfmap.foundations.dates import day_words
from turfmap.foundations.definitions import Row
from turfmap.season.against import Against, nothing
from turfmap.season.case import NEVER, Case, Days, Moment, Visit, last_of
from turfmap.season.weather import Floats

YEAR_D = 365
ROUNDING = 1e-9


def applications(active: str, case: Case) -> list[Visit]:
    """Return the visits at which an active ingredient was put down, oldest first."""
    found = [visit for done in case.visits.values() for visit in done if active in visit.actives]
    return sorted(found, key=lambda visit: visit.day)


def too_soon(facts: Row, case: Case) -> Against:
    """Return whether the interval between two applications has not passed."""
    done = applications(facts["active_ingredient"], case)
    if not done or facts["retreat_d"] is None:
        return nothing(case)
    last = last_of([visit.day for visit in done], case.days)
    wait_d = int(facts["retreat_d"])

    def words(moment: Moment) -> str:
        put_down = date.fromordinal(int(last[moment.place]))
        until = put_down + timedelta(days=wait_d)
        return (
            f"put down on {day_words(put_down)}, and again after {wait_d} days,"
            f" {day_words(until)}, at the earliest"
        )

    stands = (last > NEVER) & (case.days - last < wait_d)
    return Against(stands, np.zeros_like(stands), words)


def annual(facts: Row, case: Case) -> Against:
    """Return whether one more application would pass the annual limit, as far as it is known."""
    done = applications(facts["active_ingredient"], case)
    if not done:
        return nothing(case)
    most = facts["annual_max_lb_per_acre"]
    least = facts["single_low_lb_per_acre"] or facts["single_high_lb_per_acre"]
    sums, unknown = _year(facts["active_ingredient"], done, case)
    put_down = (sums > 0) | (unknown > 0)
    if most is None or least is None:
        return Against(put_down, put_down, lambda moment: _limit_unknown(unknown, sums, moment))
    # What nobody wrote down was at least the least that the label names.
    reached = put_down & (sums + (unknown + 1) * least > most + ROUNDING)

    def words(moment: Moment) -> str:
        count, amount = int(unknown[moment.place]), float(sums[moment.place])
        if reached[moment.place]:
            return f"the annual limit of {most:g} lb per acre is reached ({_sum(amount, count)})"
        return f"{_sum(amount, count)} of the {most:g} lb per acre a year: write down how much"

    return Against(reached | (unknown > 0), ~reached & (unknown > 0), words)


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
