"""One zone's part of a load: its rate, its sums for the year, and every limit that it breaks."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from turfmap.days.bearing import UNVERIFIED
from turfmap.days.knowledge import Knowledge
from turfmap.days.limits import Applied, YearSum, fullest_year
from turfmap.days.products import Active, Product, lb_per_acre, limit_of_active
from turfmap.days.quantities import Rate, exceeds, is_above
from turfmap.foundations.dates import day_words
from turfmap.foundations.definitions import Row

if TYPE_CHECKING:
    from pint.registry import Quantity

ASK_AMOUNT = "write its amount and the area treated into the visit"


@dataclass(frozen=True)
class Limit:
    """How much of an active ingredient is allowed [lb per acre], and who says so."""

    lb_per_acre: float
    source: str


@dataclass(frozen=True)
class ActiveSum:
    """An active ingredient on one zone: what the load gives and what the year holds with it.

    Attributes
    ----------
    load_lb_per_acre
        None where the product's concentration is not entered.
    year
        The fullest year; None where the load's own amount is not known.
    """

    active: str
    load_lb_per_acre: float | None
    single: Limit | None
    annual: Limit | None
    year: YearSum | None


def limit(product: Product, active: Active, known: Knowledge, *, of: str) -> Limit | None:
    """Return what the label allows at once (``single``) or in its year (``annual``).

    The product's own figure; else the table's; else None.
    """
    own = limit_of_active(product, active, getattr(active, f"{of}_max"))
    if own is not None:
        return Limit(lb_per_acre(own), f"label of {product.name}")
    column = {"single": "single_high_lb_per_acre", "annual": "annual_max_lb_per_acre"}[of]
    row = known.actives[active.name]
    if row[column] is None:
        return None
    return Limit(float(row[column]), _table_words(row))


def active_sums(
    product: Product,
    per_area: "Quantity[float]",
    applied: Mapping[str, Sequence[Applied]],
    day: date | None,
    known: Knowledge,
) -> list[ActiveSum]:
    """Return every active ingredient of a load on one zone, with its limits and its year.

    Parameters
    ----------
    product
        What is applied.
    per_area
        How much of it [volume or mass per area].
    applied
        What was put on the zone before, by active ingredient.
    day
        The day of the load; None: the worst that the record allows.
    known
        The table active_ingredient, where the label's own limit is not entered.
    """
    found = []
    for active in product.actives:
        mass = product.active_within(active, per_area)
        load = None if mass is None else lb_per_acre(mass)
        year = None
        if load is not None:
            label_year = product.row["label_year"]
            year = fullest_year(applied[active.name], load, day=day, label_year=label_year)
        single, annual = (limit(product, active, known, of=of) for of in ("single", "annual"))
        found.append(ActiveSum(active.name, load, single, annual, year))
    return found


def broken(sums: Sequence[ActiveSum]) -> list[tuple[str, str]]:
    """Return each limit that a load breaks on a zone, or may break: the problem and its mend."""
    found = []
    for one in sums:
        if one.load_lb_per_acre is None:
            continue
        if one.single and is_above(one.load_lb_per_acre, one.single.lb_per_acre):
            problem = (
                f"{one.load_lb_per_acre:.4g} lb of {one.active} an acre is above the"
                f" {one.single.lb_per_acre:g} allowed at once ({one.single.source})"
            )
            found.append((problem, "lower the rate"))
        if one.annual and one.year and is_above(one.year.total_lb_per_acre, one.annual.lb_per_acre):
            problem = (
                f"{one.active}: {one.year.arithmetic()}, above the"
                f" {one.annual.lb_per_acre:g} allowed ({one.annual.source})"
            )
            found.append((problem, "lower the rate, or wait"))
        unknown = one.year.unknown if one.year else ()
        found += [_unknown(one.active, put_down) for put_down in unknown]
    return found


def _unknown(active: str, put_down: Applied) -> tuple[str, str]:
    return (
        f"how much {active} was put down on {day_words(put_down.day)} ({put_down.words}) is not"
        " known, so neither is the sum of the year",
        ASK_AMOUNT,
    )


def too_soon(
    product: Product,
    applied: Mapping[str, Sequence[Applied]],
    day: date | None,
    known: Knowledge,
) -> list[tuple[str, str]]:
    """Return the intervals to the last application that a load on a day does not keep."""
    found = []
    for active in product.actives:
        days, source = _interval(product, active, known)
        if day is None or not days:
            continue
        for one in applied[active.name]:
            apart = abs((day - one.day).days)
            if apart < days:
                problem = (
                    f"{active.name} was put down on {day_words(one.day)} ({one.words}): {apart}"
                    f" days from the load, and {days:g} must lie between ({source})"
                )
                found.append((problem, "choose another day"))
    return found


def _interval(product: Product, active: Active, known: Knowledge) -> tuple[float | None, str]:
    """Return the days to the next application, and who says so."""
    if product.row["retreat_d"] is not None:
        return float(product.row["retreat_d"]), f"label of {product.name}"
    row = known.actives[active.name]
    return row["retreat_d"], _table_words(row)


def _table_words(row: Row) -> str:
    mark = f", {UNVERIFIED}" if row["how_read"] != "read" else ""
    return f"table active_ingredient{mark}"


def off_label(product: Product, rate: Rate, high: Rate | None) -> list[tuple[str, str]]:
    """Return whether a rate is above the highest that the label gives for a zone."""
    given, most = (None if one is None else product.product_for(one) for one in (rate, high))
    if high is None or given is None or most is None or not given.is_compatible_with(most):
        return []
    if not exceeds(given, most):
        return []
    return [(f"{rate.words} is above the label's {high.words}", "lower the rate")]


def as_plain(one: ActiveSum) -> dict[str, Any]:
    """Return an active ingredient's sum as plain data."""
    year, annual = one.year, one.annual
    return {
        "active_ingredient": one.active,
        "load_lb_per_acre": one.load_lb_per_acre,
        "before_lb_per_acre": None if year is None or year.unknown else year.before_lb_per_acre,
        "total_lb_per_acre": None if year is None or year.unknown else year.total_lb_per_acre,
        "year": year and year.year,
        "arithmetic": year and year.arithmetic(),
        "single_max_lb_per_acre": one.single and one.single.lb_per_acre,
        "annual_max_lb_per_acre": annual and annual.lb_per_acre,
        "limit_source": annual and annual.source,
    }
