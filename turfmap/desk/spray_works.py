"""What is due and may be mixed, as work for the plan: by property and task, with days and amounts.

What is held never becomes work; what has to be asked first stands apart.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from turfmap.days.answers import answers_for
from turfmap.days.bearing import Verdict, bearing
from turfmap.days.knowledge import Knowledge, knowledge
from turfmap.days.label_rates import rate_for
from turfmap.days.mixes import Book, Wish, mixed
from turfmap.days.plan.works import (
    APPLICATOR,
    Ground,
    Work,
    sharing_days,
    site_seconds,
    spray_gallons,
)
from turfmap.days.product_rows import read_product
from turfmap.days.products import Product
from turfmap.days.quantities import Rate
from turfmap.desk.own_rows import own_rows
from turfmap.desk.product_book import read_rows
from turfmap.desk.shopping import (
    COUNTED,
    Need,
    Store,
    check_store,
    chosen_products,
    treatable_zones,
)
from turfmap.desk.spray_sites import Sites
from turfmap.desk.standing_visits import standing_visits
from turfmap.foundations.definitions import Row, table
from turfmap.foundations.errors import InputFaultsError

Plain = dict[str, Any]


@dataclass
class Works:
    """The work of a period, and what did not become work.

    Attributes
    ----------
    cautions
        What must be said of products.
    """

    works: list[Work] = field(default_factory=list)
    ask_first: list[Plain] = field(default_factory=list)
    not_stops: list[Plain] = field(default_factory=list)
    choose: list[Plain] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Asked:
    """What the planner asks for.

    Attributes
    ----------
    tasks
        Only these; empty: all that put a chemical down.
    uses
        The product for a task, where several would do.
    carrier
        The spray volume on an area, where it is not the label's or the table's.
    """

    first: date
    last: date
    tasks: tuple[str, ...] = ()
    uses: Mapping[str, str] = field(default_factory=dict)
    carrier: Rate | None = None


def works_of(path: Path, judged: Sequence[Plain], there: Sites, asked: Asked) -> Works:
    """Return the work that can be done in a period.

    Parameters
    ----------
    path
        The place.
    judged
        What is due on each zone; see `turfmap.desk.due.due`.
    there
        Every property.
    asked
        Which period, tasks and products.
    """
    known = knowledge(own_rows(path))
    products = {
        row["name"]: read_product(row, record=row["name"], file=str(path), known=known)
        for row in read_rows(path, "product")
    }
    store = Store(asked.uses)
    check_store(store, products)
    found = Works()
    windows = _windows(judged, asked, found)
    needs = [
        Need(task, of, zone, max(opens, asked.first))
        for (task, of, zone), (opens, _) in windows.items()
    ]
    chosen, found.choose = chosen_products(needs, products, store)
    if asked.uses:
        found.choose = [one for one in found.choose if one["task"] not in asked.uses]
    book = Book(
        products,
        read_rows(path, "product_rate"),
        standing_visits(path),
        read_rows(path, "client_answer"),
        known,
    )
    for name, mine in sorted(chosen.items()):
        ground = treatable_zones(path, products[name], None)
        _add(found, _Loads(products[name], book, ground, windows, there, asked), mine)
        found.cautions += _unconfirmed(products[name])
    found.works.sort(key=lambda work: work.id)
    return found


Windows = dict[tuple[str, str, str], tuple[date, date]]


def wanted_tasks(asked: Asked) -> set[str]:
    """Return the tasks that are planned: those asked for, else all that put a chemical down."""
    rated = {row["task"] for row in table("work_rate").rows}
    chemical = {row["task"] for row in table("task").rows if row["chemical"]}
    return set(asked.tasks) or (rated & (chemical | set(asked.uses)))


def _windows(judged: Sequence[Plain], asked: Asked, found: Works) -> Windows:
    """Return the days of each task on each zone that can be done in the period."""
    wanted, windows = wanted_tasks(asked), {}
    for zone in judged:
        for task in zone["tasks"]:
            opens, closes = task["opens"], task["closes"]
            if task["task"] not in wanted or opens is None or opens > asked.last.isoformat():
                continue
            if closes is None or closes < asked.first.isoformat():
                continue
            key = (task["task"], zone["property"], zone["zone"])
            if task["state"] in COUNTED:
                windows[key] = (date.fromisoformat(opens), date.fromisoformat(closes))
            elif task["state"] in {"ask", "held"}:
                why = (task["holds"] or task["reasons"] or ["something is not known"])[0]
                lines = found.ask_first if task["state"] == "ask" else found.not_stops
                lines.append(_line(*key, task["title"], why))
    before = {after: first for first, (after, _) in following().items()}
    # A second pass becomes work by the day of its first, not by the calendar beside it.
    return {
        key: days for key, days in windows.items() if (before.get(key[0]), *key[1:]) not in windows
    }


def following() -> dict[str, tuple[str, tuple[int, int]]]:
    """Return which task follows a task, and within how many days, from the table window."""
    edges: dict[tuple[str, str], dict[str, list[int]]] = {}
    for row in table("window").rows:
        if row["basis"] == "after_task" and row["value"] is not None:
            key = (row["after_task"], row["task"])
            edges.setdefault(key, {}).setdefault(row["edge"], []).append(int(row["value"]))
    return {
        before: (after, (max(found["opens"]), min(found["closes"])))
        for (before, after), found in edges.items()
        if {"opens", "closes"} <= set(found)
    }


def season_ends(task: str, longitude: float, latitude: float) -> str | None:
    """Return the month and day after which a task is never done at a place; None if there is none.

    From the table window: the last day that a closing edge may ever come to. What a freeze or the
    heat of the year does to it is judged when the day is near.
    """
    closing = [
        row
        for row in table("window").rows
        if (row["task"], row["edge"]) == (task, "closes")
        and row["latitude_from"] <= latitude <= row["latitude_to"]
        and row["longitude_from"] <= longitude <= row["longitude_to"]
    ]
    found = [row["on"] if row["basis"] == "date" else row["latest"] for row in closing]
    return min((day for day in found if day), default=None)


def _line(task: str, property_name: str, zone: str, title: str, why: str) -> Plain:
    return {"property": property_name, "zone": zone, "task": task, "title": title, "why": why}


@dataclass(frozen=True)
class _Loads:
    """What a product's loads are made from."""

    product: Product
    book: Book
    ground: Mapping[tuple[str, str], Row]
    windows: Windows
    there: Sites
    asked: Asked

    @property
    def known(self) -> Knowledge:
        return self.book.known


def _add(found: Works, loads: _Loads, needs: Iterable[Need]) -> None:
    """Add the work for a product: by task and property, its zones together where days allow."""
    tasks = table("task").by("task")
    together: dict[tuple[str, str], list[Ground]] = {}
    not_ready: set[str] = set()
    for need in needs:
        ground = _ground(found, loads, need, not_ready)
        if ground is not None:
            together.setdefault((need.task, need.property), []).append(ground)
    for (task, of), grounds in sorted(together.items()):
        groups = sharing_days(grounds)
        for number, zones in enumerate(groups, start=1):
            name = f"{of} · {tasks[task]['title']}"
            name += f" · {number}" if len(groups) > 1 else ""
            found.works.append(_work(name, loads, tasks[task], of, zones, sorted(not_ready)))


def _ground(found: Works, loads: _Loads, need: Need, not_ready: set[str]) -> Ground | None:
    """Return a zone's part of the work; None, and why, where the product may not go on it."""
    row, product = loads.ground[need.property, need.zone], loads.product
    title = table("task").by("task")[need.task]["title"]
    key = (need.task, need.property, need.zone, title)
    verdict = _verdict(loads, row, need.day)
    if verdict.against:
        lines = found.ask_first if set(verdict.against) <= set(verdict.asks) else found.not_stops
        lines.append(_line(*key, "; ".join(verdict.against)))
        return None
    if row["treatable_m2"] <= 0.0:
        found.not_stops.append(_line(*key, "none of it may be treated"))
        return None
    rates = [r for r in loads.book.rates if r["product"] == product.name]
    dry_lb = None
    if rate_for(product, rates, species=row["species"], target=None) is None:
        not_ready.add(f"the book holds no label rate of {product.name}: no load can be mixed yet")
    else:
        try:
            dry_lb = _dry_lb(loads, row, need.day)
        except InputFaultsError as error:
            why = "; ".join(fault.problem for fault in error.faults)
            found.not_stops.append(_line(*key, why))
            return None
    opens, closes = loads.windows[need.task, need.property, need.zone]
    slope = loads.there.slopes.get((need.property, need.zone))
    return Ground(need.zone, float(row["treatable_m2"]), slope, opens, closes, dry_lb)


def _verdict(loads: _Loads, row: Row, day: date) -> Verdict:
    """Return whether the product may touch a zone on a day."""
    answers = [one for one in loads.book.answers if one["property"] == row["property"]]
    visits = [one for one in loads.book.visits if one["property"] == row["property"]]
    said = answers_for(row, answers, visits, day)
    return bearing(loads.product, row, said, day, loads.known)


def _dry_lb(loads: _Loads, row: Row, day: date) -> float | None:
    """Return what goes on a zone of a product that is weighed [lb]; None for one by volume.

    Raises
    ------
    InputFaultsError
        If the load breaks a limit of its label or its year.
    """
    load = mixed([row], Wish(loads.product, day=day), loads.book)
    amount = load.groups[0][0].amount
    return None if amount.is_compatible_with("liter") else float(amount.to("pound").magnitude)


def _work(
    name: str,
    loads: _Loads,
    task: Row,
    property_name: str,
    zones: tuple[Ground, ...],
    not_ready: Sequence[str],
) -> Work:
    product = loads.product
    amount, unit = _amount(loads, task["task"], zones)
    return Work(
        name,
        loads.there.sites[property_name],
        task,
        zones,
        first=max(zone.opens for zone in zones),
        last=min(zone.closes for zone in zones),
        service_s=site_seconds(task["task"], zones),
        product=product.name,
        mix=product.name if amount > 0.0 else "",
        amount=amount,
        unit=unit if amount > 0.0 else "",
        licences=frozenset({APPLICATOR}) if task["chemical"] else frozenset(),
        not_ready=tuple(not_ready),
    )


def _amount(loads: _Loads, task: str, zones: Sequence[Ground]) -> tuple[float, str]:
    """Return what the work takes from a tank [gal of spray], or a hopper [lb]."""
    product = loads.product
    method = table("work_rate").by("task")[task]["method"]
    comes = product.formulation
    if method != "spray" if comes is None else comes["applied"] == "spread":
        return sum(zone.dry_lb or 0.0 for zone in zones), "lb"
    area_m2 = sum(zone.treatable_m2 for zone in zones)
    label = (product.carrier_low, product.carrier_high)
    return spray_gallons(task, area_m2, given=loads.asked.carrier, label=label), "gal"


def _unconfirmed(product: Product) -> list[str]:
    if product.is_confirmed:
        return []
    return [f"{product.name} has not been confirmed from its label: confirm before it is mixed."]
