"""What visits on record put on a zone, active ingredient by active ingredient."""

from collections.abc import Iterable, Mapping
from typing import Any

from turfmap.days.amounts import area
from turfmap.days.knowledge import Knowledge
from turfmap.days.limits import Applied
from turfmap.days.products import Product, lb_per_acre
from turfmap.days.quantities import amount
from turfmap.foundations.definitions import Row
from turfmap.foundations.errors import InputFaultsError


def applied_on(
    zone: Mapping[str, Any],
    active: str,
    visits: Iterable[Row],
    book: Mapping[str, Product],
    known: Knowledge,
) -> list[Applied]:
    """Return the applications of an active ingredient on a zone.

    Parameters
    ----------
    zone
        With ``property`` and ``name``.
    active
        The active ingredient.
    visits
        Rows of the layer visit: property, zone (empty: the whole property), task, date, product,
        and, where they are kept, amount, amount_unit and area_treated_m2.
    book
        The user's products by name.
    known
        The tables active_ingredient and choice.

    Notes
    -----
    The rate is taken over the area that was treated, as a limit an acre is one of treated ground.
    A visit whose product, amount or area is not known has an unknown amount.
    """
    found = []
    for visit in visits:
        is_here = visit["property"] == zone["property"] and (
            not visit["zone"] or visit["zone"] == zone["name"]
        )
        if is_here and _may_hold(active, visit, book, known):
            words = visit["product"] or f"{visit['task'].replace('_', ' ')}, product not known"
            found.append(Applied(visit["date"], _lb_per_acre(active, visit, book), words))
    return found


def _may_hold(active: str, visit: Row, book: Mapping[str, Product], known: Knowledge) -> bool:
    """Tell whether a visit put the active ingredient down, or may have."""
    name = visit["product"]
    if name in book:
        return active in {one.name for one in book[name].actives}
    if name in known.actives:
        return bool(name == active)
    # A product that is not in the book may hold anything; no product named, what serves the task.
    return bool(name) or (visit["task"], active) in known.serving


def _lb_per_acre(active: str, visit: Row, book: Mapping[str, Product]) -> float | None:
    product, treated_m2 = book.get(visit["product"]), visit.get("area_treated_m2")
    number, unit = visit.get("amount"), visit.get("amount_unit")
    if product is None or not number or not unit or not treated_m2:
        return None
    try:
        put_down = amount(f"{number} {unit}", record="amount")
    except InputFaultsError:
        return None
    (of,) = (one for one in product.actives if one.name == active)
    mass = product.active_within(of, put_down / area(treated_m2))
    return None if mass is None else lb_per_acre(mass)
