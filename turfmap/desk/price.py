"""An estimate for a property: measured ground times the rate card, its cost and what is left."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from turfmap.days.amounts import area as ground_of
from turfmap.days.amounts import share
from turfmap.days.knowledge import knowledge
from turfmap.days.money import Currency, margin_pct, money, price_of, rounded, shown
from turfmap.days.product_rows import read_product
from turfmap.days.quantities import amount
from turfmap.desk.area import area
from turfmap.desk.business import Business, read_business
from turfmap.desk.letter_batch import Batch, Draft, clients_of, language_of, write_letters
from turfmap.desk.own_rows import own_rows
from turfmap.desk.product_book import find_product
from turfmap.desk.protected import Overrides
from turfmap.foundations.definitions import Row, table
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.foundations.units import square_feet
from turfmap.views.letter_words import words

PER_AREA, PER_VISIT, PER_UNIT = "1000_sq_ft", "visit", "unit"
LABOUR, TRAVEL = ("labour", "hour"), ("travel", "mile")
NO_CARD = (
    "import your prices: turfmap import PLACE.gpkg PRICES.csv --as rate_card, a table with the"
    " columns task, per (1000_sq_ft, visit or unit) and price; turfmap layers rate_card tells more"
)
NO_WORK = (
    "the rate card has no work for the kinds of zones drawn there: draw zones, add prices for"
    " their work, or name work with --task"
)
UNCHECKED = (
    "Prices and costs are your own rows and were not checked against anything. Taxes are left out."
)


@dataclass(frozen=True)
class Wish:
    """What an estimate is wanted for.

    Attributes
    ----------
    property_name
        Whose ground.
    tasks
        Which work; empty: all of the rate card that is for ground of its kind.
    units
        How many units of a task that is priced by the unit.
    miles
        There and back, for a visit; None: not known.
    visits
        How often somebody drives there; None: once for each line.
    local
        The machine's own currency, for a business that set none.
    """

    property_name: str
    as_of: date
    tasks: tuple[str, ...] = ()
    units: Mapping[str, int] = field(default_factory=dict)
    miles: float | None = None
    visits: int | None = None
    style: Path | None = None
    out: Path | None = None
    language: str | None = None
    formats: tuple[str, ...] = ("pdf",)
    local: Currency = field(default_factory=Currency)


def price(path: Path, wish: Wish) -> dict[str, Any]:
    """Return an estimate, and write it for the client if that is wanted.

    Returns
    -------
    dict
        ``property, currency``; ``lines`` (task, title, per, quantity, price, is_minimum, minutes,
        cost: labour and product, None where not known); ``total, cost, margin, margin_pct``;
        ``missing``: tasks without a price; ``unknown``: why a cost is not known; ``files``.
        Money is text: a decimal number.

    Raises
    ------
    InputFaultsError
        If the property or a task is not there, or a price is none.
    """
    business = read_business(wish.style)
    currency = business.money_in(wish.local)
    own = own_rows(path)
    card = _card(own.get("rate_card", []))
    costs, faults = _costs(own.get("own_cost", []))
    faults += [
        Fault("", f"--task {task}", "there is no such task", "see turfmap layers task")
        for task in (*wish.tasks, *wish.units)
        if task not in table("task").by("task")
    ]
    if faults:
        raise InputFaultsError(faults)
    plain = _zones(path, wish.property_name, None)
    tasks = wish.tasks or tuple(task for task in card if _ground_m2(task, plain) > 0.0)
    lines, unknown = [], []
    for task in tasks:
        if task not in card:
            continue
        line, why = _line(path, card[task], wish, plain, costs, currency)
        lines.append(line)
        unknown += why
    if not lines:
        mend = NO_WORK if card else NO_CARD
        raise input_fault("nothing on it has a price", mend, record=wish.property_name)
    result = {
        "property": wish.property_name,
        "currency": currency.code,
        "lines": lines,
        "missing": [task for task in tasks if task not in card],
        **_sums(lines, wish, costs, unknown, currency),
        "cautions": [UNCHECKED],
    }
    return result | {"files": _written(path, result, wish, business, currency) if wish.out else []}


def _card(rows: Sequence[Row]) -> dict[str, dict[str, Any]]:
    """Return the rate card with its money read.

    Raises
    ------
    InputFaultsError
        With every price that is none.
    """
    found: dict[str, dict[str, Any]] = {}
    faults: list[Fault] = []
    for row in rows:
        read: dict[str, Any] = dict(row)
        for name in ("price", "minimum"):
            try:
                text = row[name]
                read[name] = money(text, record=f"rate_card {row['task']}") if text else None
            except InputFaultsError as error:
                faults += error.faults
        found[row["task"]] = read
    if faults:
        raise InputFaultsError(faults)
    return found


def _costs(rows: Sequence[Row]) -> tuple[dict[str, tuple[Decimal, str]], list[Fault]]:
    found: dict[str, tuple[Decimal, str]] = {}
    faults: list[Fault] = []
    for row in rows:
        try:
            found[row["item"]] = (money(row["price"], record=f"own_cost {row['item']}"), row["per"])
        except InputFaultsError as error:
            faults += error.faults
    for item, per in (LABOUR, TRAVEL):
        if item in found and found[item][1].strip().lower() != per:
            problem = f"it is for {found[item][1][:40]!r}"
            faults.append(Fault("", f"own_cost {item}", problem, f"give it per {per}"))
    return found, faults


def _zones(path: Path, property_name: str, product: str | None) -> list[dict[str, Any]]:
    measured = area(path, property_name=property_name, product=product, overrides=Overrides({}))
    found: list[dict[str, Any]] = measured["zones"]
    return found


def _ground_m2(task: str, zones: Sequence[Mapping[str, Any]]) -> float:
    """Return the ground of a task [m2]: what may be treated if it is spraying, else all of it."""
    row = table("task").by("task")[task]
    kinds = str(row["ground"]).split(";")
    mine = [zone for zone in zones if zone["kind"] in kinds]
    if row["chemical"]:
        return float(sum(zone["treatable_m2"] for zone in mine))
    return float(sum(zone["gross_m2"] - zone["obstacle_m2"] for zone in mine))


def _line(
    path: Path,
    row: Mapping[str, Any],
    wish: Wish,
    plain: Sequence[Mapping[str, Any]],
    costs: Mapping[str, tuple[Decimal, str]],
    currency: Currency,
) -> tuple[dict[str, Any], list[str]]:
    """Return one line of an estimate, and why a cost of it is not known."""
    task, title = row["task"], table("task").by("task")[row["task"]]["title"]
    zones = _zones(path, wish.property_name, row["product"]) if row["product"] else plain
    ground_m2 = _ground_m2(task, zones)
    # Whole square feet, as the client sees them: so that the price can be worked out by hand.
    sqft = rounded(Decimal(repr(square_feet(ground_m2))), 0)
    how_many = {PER_AREA: sqft / 1000, PER_VISIT: Decimal(1)}.get(row["per"])
    unknown = []
    if how_many is None:
        if task not in wish.units:
            raise input_fault(
                f"{title} is priced by the {row['unit'] or 'unit'}",
                f"say how many: --count {task}=N",
                record="--count",
            )
        how_many = Decimal(wish.units[task])
    found = price_of(how_many, row["price"], minimum=row["minimum"], decimals=currency.decimals)
    labour, why = _labour(row, how_many, costs)
    if table("task").by("task")[task]["chemical"] and not row["product"]:
        product, more = None, ["its product is not in the rate card"]
    else:
        product, more = _product_cost(path, row["product"], ground_m2, costs)
    unknown += [f"{title}: {words}" for words in (*why, *more)]
    return {
        "task": task,
        "title": title,
        "per": row["per"],
        "unit": row["unit"],
        "quantity": str(sqft if row["per"] == PER_AREA else how_many),
        "price": str(found.amount),
        "is_minimum": found.is_minimum,
        "minutes": None if row["minutes"] is None else float(row["minutes"]) * float(how_many),
        "labour": None if labour is None else str(rounded(labour, currency.decimals)),
        "product": None if product is None else str(rounded(product, currency.decimals)),
    }, unknown


def _labour(
    row: Mapping[str, Any], how_many: Decimal, costs: Mapping[str, tuple[Decimal, str]]
) -> tuple[Decimal | None, list[str]]:
    if row["minutes"] is None:
        return None, ["its minutes are not in the rate card"]
    if LABOUR[0] not in costs:
        return None, ["what an hour of labour costs is not in own_cost"]
    minutes = Decimal(repr(float(row["minutes"]))) * how_many
    return minutes / 60 * costs[LABOUR[0]][0], []


def _product_cost(
    path: Path, name: str | None, ground_m2: float, costs: Mapping[str, tuple[Decimal, str]]
) -> tuple[Decimal | None, list[str]]:
    """Return what the product for some ground costs: its label's usual rate, by its own price."""
    if not name:
        return Decimal(0), []
    row = find_product(path, name)
    product = row and read_product(row, record=name, known=knowledge(own_rows(path)))
    per_area = product.product_for(product.rate) if product and product.rate else None
    if per_area is None:
        return None, [f"how much of {name} is used is not in the product book"]
    if name not in costs:
        return None, [f"what {name} costs is not in own_cost"]
    price, per = costs[name]
    pack = amount(per, record=f"own_cost {name}")
    used = ground_of(ground_m2) * per_area
    if not used.is_compatible_with(pack):
        return None, [f"the price of {name} is for {per}, and its rate is of another kind"]
    return Decimal(repr(share(used, pack))) * price, []


def _sums(
    lines: Sequence[Mapping[str, Any]],
    wish: Wish,
    costs: Mapping[str, tuple[Decimal, str]],
    unknown: Sequence[str],
    currency: Currency,
) -> dict[str, Any]:
    """Return the total, and its cost and margin where all of it is known."""
    why = list(unknown)
    total = sum((Decimal(line["price"]) for line in lines), Decimal(0))
    visits = len(lines) if wish.visits is None else wish.visits
    travel = None
    if wish.miles is None:
        why.append("The miles there and back are not given (--miles).")
    elif TRAVEL[0] not in costs:
        why.append("What a mile costs is not in own_cost.")
    else:
        travel = Decimal(repr(wish.miles)) * visits * costs[TRAVEL[0]][0]
    parts = [line[name] for line in lines for name in ("labour", "product")]
    cost = None
    if travel is not None and None not in parts:
        travel = rounded(travel, currency.decimals)
        cost = sum((Decimal(part) for part in parts), travel)
    margin = None if cost is None else total - cost
    share_pct = None if cost is None else margin_pct(total, cost)
    money_of = {"total": total, "travel": travel, "cost": cost, "margin": margin}
    return {
        **{name: None if value is None else str(value) for name, value in money_of.items()},
        "margin_pct": None if share_pct is None else str(share_pct),
        "visits": visits,
        "unknown": list(dict.fromkeys(why)),
    }


def _written(
    path: Path,
    result: Mapping[str, Any],
    wish: Wish,
    business: Business,
    currency: Currency,
) -> list[str]:
    """Write the estimate as the client sees it: prices, no costs."""
    if wish.out is None:
        return []
    batch = Batch("estimate", wish.out, business, wish.language, wish.formats)
    client = next(
        one
        for one in clients_of(path, wish.property_name)
        if any(row["name"] == wish.property_name for row in one.properties)
    )
    said = words(language_of(client, batch))

    def of_money(text: str) -> str:
        return shown(Decimal(text), currency.code, currency.decimals)

    facts = {
        "place": wish.property_name,
        "day": said.day(wish.as_of),
        "lines": [
            {
                "title": said.gettext(line["title"]),
                "quantity": _quantity(line, said.gettext),
                "price": of_money(line["price"]),
                "minimum_used": line["is_minimum"],
            }
            for line in result["lines"]
        ],
        "total": of_money(result["total"]),
        "missing": [
            said.gettext(table("task").by("task")[task]["title"]) for task in result["missing"]
        ],
    }
    (letter,) = write_letters(batch, [Draft(client, facts)])
    return list(letter["files"])


def _quantity(line: Mapping[str, Any], gettext: Any) -> str:
    if line["per"] == PER_AREA:
        return f"{int(line['quantity']):,} {gettext('sq ft')}"
    if line["per"] == PER_VISIT:
        return str(gettext("one visit"))
    return f"{line['quantity']} × {gettext(line['unit'] or 'units')}"
