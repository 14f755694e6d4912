"""What to have in the store for a period: what the tasks due need, less what is there."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from turfmap.days.amounts import is_volume, measures, purchase, total
from turfmap.days.mixes import Book, Wish, mixed
from turfmap.days.product_rows import read_product
from turfmap.days.products import Product
from turfmap.desk.area import measured
from turfmap.desk.due import due
from turfmap.desk.place import read_place
from turfmap.desk.product_book import read_rows
from turfmap.desk.protected import Overrides
from turfmap.desk.standing_visits import standing_visits
from turfmap.foundations.definitions import Row, table
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault

if TYPE_CHECKING:
    from pint.registry import Quantity

Plain = dict[str, Any]
COUNTED, WAITING = {"due", "soon", "later"}, {"ask", "held"}
ONCE = (
    "Each task is counted once a zone, as it stands on the first day; a task whose product is not"
    " one of the table choice (feeding, seed, mulch) is counted only where --use names its product."
)


@dataclass(frozen=True)
class Store:
    """What the user says beside the file.

    Attributes
    ----------
    uses
        The product for a task, where several would do or the table names none.
    stock
        What is there of a product.
    """

    uses: Mapping[str, str] = field(default_factory=dict)
    stock: "Mapping[str, Quantity[float]]" = field(default_factory=dict)


@dataclass(frozen=True)
class Need:
    """A task on a zone within the period, and the day that it is reckoned for."""

    task: str
    property: str
    zone: str
    day: date


def shopping(
    path: Path, *, first: date, last: date, store: Store, property_name: str | None = None
) -> Plain:
    """Return what to buy for the tasks whose window is open within a period.

    Parameters
    ----------
    path
        The place.
    first, last
        The period; what is due is judged as of its first day.
    store
        Products for tasks, and stock.
    property_name
        Only this property.

    Returns
    -------
    dict
        ``from, to``; ``lines`` (product, tasks, zones, exact, in_stock, purchase, left_over);
        ``choose`` (tasks with no product or several, and how many zones wait for it);
        ``not_counted`` (property, zone, task, why); ``cautions``.

    Raises
    ------
    InputFaultsError
        If the period is turned round, or a task, a product or the property is not there.
    """
    if last < first:
        raise input_fault(f"{last} is before {first}", "turn the period round")
    rows = read_rows(path, "product")
    products = {row["name"]: read_product(row, record=row["name"], file=str(path)) for row in rows}
    check_store(store, products)
    judged = due(path, as_of=first, property_name=property_name)
    needs, waiting = _needs(judged["zones"], first, last)
    chosen, choose = chosen_products(needs, products, store)
    book = Book(
        products,
        read_rows(path, "product_rate"),
        standing_visits(path),
        read_rows(path, "client_answer"),
    )
    lines, left_out = [], []
    for name, mine in chosen.items():
        zones = treatable_zones(path, products[name], property_name)
        line, against = _line(products[name], mine, zones, book, store.stock.get(name))
        lines += line
        left_out += against
    return {
        "from": first.isoformat(),
        "to": last.isoformat(),
        "lines": lines,
        "choose": choose,
        "not_counted": [*waiting, *left_out],
        "cautions": [ONCE, *_unconfirmed(products[name] for name in chosen), *judged["cautions"]],
    }


def check_store(store: Store, products: Mapping[str, Product]) -> None:
    """Refuse tasks and products that are not there.

    Raises
    ------
    InputFaultsError
        With a fault for each.
    """
    tasks = table("task").by("task")
    faults = [
        Fault("", f"--use {task}", f"there is no task {task!r}", "see turfmap layers task")
        for task in store.uses
        if task not in tasks
    ]
    faults += [
        Fault("", option, f"there is no product {name!r}", "import it as a product")
        for option, names in (("--use", store.uses.values()), ("--have", store.stock))
        for name in names
        if name not in products
    ]
    if faults:
        raise InputFaultsError(faults)


def _needs(zones: Iterable[Plain], first: date, last: date) -> tuple[list[Need], list[Plain]]:
    """Return the tasks that can be done in the period, and those that something holds."""
    needs, waiting = [], []
    for zone in zones:
        for task in zone["tasks"]:
            opens, closes = task["opens"], task["closes"]
            if opens is None or opens > last.isoformat() or (closes or "9") < first.isoformat():
                continue
            if task["state"] in COUNTED:
                day = max(first, date.fromisoformat(opens))
                needs.append(Need(task["task"], zone["property"], zone["zone"], day))
            elif task["state"] in WAITING and task["task"] in choices_of_tasks():
                why = (task["holds"] or task["reasons"] or ["something is not known"])[0]
                waiting.append(_left(zone["property"], zone["zone"], task["task"], why))
    return needs, waiting


def choices_of_tasks() -> dict[str, set[str]]:
    """Return the active ingredients that serve each task."""
    found: dict[str, set[str]] = {}
    for row in table("choice").rows:
        found.setdefault(row["task"], set()).add(row["active_ingredient"])
    return found


def chosen_products(
    needs: Iterable[Need], products: Mapping[str, Product], store: Store
) -> tuple[dict[str, list[Need]], list[Plain]]:
    """Give each need its product; where there is none, or several, it is the user's to choose."""
    choices = choices_of_tasks()
    chosen: dict[str, list[Need]] = {}
    open_tasks: dict[str, Plain] = {}
    for need in needs:
        serving = [
            name
            for name, product in products.items()
            if {active.name for active in product.actives} & choices.get(need.task, set())
        ]
        if need.task in store.uses:
            serving = [store.uses[need.task]]
        if len(serving) == 1:
            chosen.setdefault(serving[0], []).append(need)
        elif need.task in choices:
            one = {"task": need.task, "products": serving, "zones": 0}
            open_tasks.setdefault(need.task, one)["zones"] += 1
    return chosen, list(open_tasks.values())


def treatable_zones(
    path: Path, product: Product, property_name: str | None
) -> dict[tuple[str, str], Row]:
    """Return the zones by property and name, with what of them may be treated with a product."""
    place = read_place(
        path, property_name=property_name, product=product.name, overrides=Overrides({})
    )
    species = place.zones["species"].where(place.zones["species"].notna(), None)
    return {
        (zone["property"], zone["zone"]): {
            "property": zone["property"],
            "name": zone["zone"],
            "kind": zone["kind"],
            "species": grass,
            "treatable_m2": zone["treatable_m2"],
        }
        for zone, grass in zip(measured(place)[0]["zones"], species, strict=True)
    }


def _line(
    product: Product,
    needs: Iterable[Need],
    zones: Mapping[tuple[str, str], Row],
    book: Book,
    stock: "Quantity[float] | None",
) -> tuple[list[Plain], list[Plain]]:
    """Return a product's line, if any zone may have it, and the zones that may not."""
    amounts: list[Quantity[float]] = []
    tasks, against = set(), []
    for need in needs:
        zone = zones[need.property, need.zone]
        try:
            load = mixed([zone], Wish(product, day=need.day), book)
        except InputFaultsError as error:
            why = "; ".join(fault.problem for fault in error.faults)
            against.append(_left(need.property, need.zone, need.task, why))
            continue
        amounts += [part.amount for parts in load.groups for part in parts]
        tasks.add(need.task)
    if not amounts:
        return [], against
    return [_bought(product, total(amounts), stock, sorted(tasks), len(amounts))], against


def _bought(
    product: Product,
    exact: "Quantity[float]",
    stock: "Quantity[float] | None",
    tasks: list[str],
    zones: int,
) -> Plain:
    if stock is not None and is_volume(stock) != is_volume(exact):
        raise input_fault(
            f"the stock of {product.name} and what it is used at are a volume and a weight",
            "give the stock in units of the label's rate",
            record="--have",
        )
    lacking = exact if stock is None else max(exact - stock, 0.0 * exact)
    pack = product.pack
    if pack is not None and is_volume(pack) != is_volume(exact):
        pack = None
    bought = purchase(lacking, pack)
    return {
        "product": product.name,
        "tasks": tasks,
        "zones": zones,
        "exact": measures(exact),
        "in_stock": None if stock is None else measures(stock),
        "purchase": measures(bought.amount)
        | {"packs": bought.packs, "pack": product.row["pack"] if pack is not None else None},
        "left_over": measures(bought.amount - lacking),
    }


def _left(property_name: str, zone: str, task: str, why: str) -> Plain:
    return {"property": property_name, "zone": zone, "task": task, "why": why}


def _unconfirmed(products: Iterable[Product]) -> list[str]:
    return [
        f"{product.name} has not been confirmed from its label: confirm before you buy."
        for product in products
        if not product.is_confirmed
    ]
