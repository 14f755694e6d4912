"""Letters after work, from the record: what was put down, and what to do and not to do now."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from turfmap.days.bearing import wait_wk
from turfmap.days.knowledge import Knowledge, knowledge
from turfmap.days.product_rows import read_product
from turfmap.days.products import Product
from turfmap.desk.letter_batch import Batch, Client, Draft, language_of
from turfmap.desk.notice_work import Period
from turfmap.desk.own_rows import own_rows
from turfmap.desk.product_book import read_rows
from turfmap.desk.standing_visits import standing_visits
from turfmap.foundations.definitions import Row, table
from turfmap.foundations.errors import InputFaultsError
from turfmap.foundations.units import square_feet
from turfmap.views.letter_words import Words, words

# One piece of work: its zones are told together.
_SAME = ("property", "record", "task", "date", "product", "end_time", "amount_unit")


def after_work(path: Path, clients: Sequence[Client], batch: Batch, period: Period) -> list[Draft]:
    """Return a draft for each client at whose place work is on record in a period."""
    known = knowledge(own_rows(path))
    products: dict[str, Product] = {}
    for row in read_rows(path, "product"):
        try:
            products[row["name"]] = read_product(row, record=row["name"], known=known)
        except InputFaultsError:  # told by import; here it is a product of which nothing is known
            continue
    visits = [
        row
        for row in standing_visits(path)
        if period.first <= row["date"] <= period.last
        and (not period.tasks or row["task"] in period.tasks)
    ]
    drafts = []
    for client in clients:
        said = words(language_of(client, batch))
        names = {row["name"] for row in client.properties}
        done = _done([row for row in visits if row["property"] in names])
        if not done:
            continue
        work = [_work(rows, products, known, said) for rows in done]
        facts = {"work": work, "first": said.day(period.first), "last": said.day(period.last)}
        drafts.append(Draft(client, facts))
    return drafts


def _done(visits: Sequence[Row]) -> list[list[Row]]:
    found: dict[tuple[Any, ...], list[Row]] = {}
    for row in visits:
        found.setdefault(tuple(row[name] for name in _SAME), []).append(row)
    return [found[key] for key in sorted(found, key=lambda key: (key[3], str(key)))]


def _work(
    rows: Sequence[Row], products: Mapping[str, Product], known: Knowledge, said: Words
) -> dict[str, Any]:
    """Return what is told of one piece of work; what is not known is None."""
    first = rows[0]
    task = table("task").by("task")[first["task"]]
    product = products.get(first["product"] or "")
    # Times are told to a client only from a row that somebody held against the label.
    label = product if product is not None and product.is_confirmed else None
    day: date = first["date"]
    return {
        "title": said.gettext(task["title"]),
        "chemical": task["chemical"] or bool(first["product"]),
        "day": said.day(day),
        "zones": [row["zone"] for row in rows if row["zone"]],
        "product": first["product"],
        "actives": [one.name for one in product.actives] if product else [],
        "registration": first["registration_number"],
        "amount": _sum(rows, "amount"),
        "unit": first["amount_unit"],
        "area_sqft": _area_sqft(rows),
        "applicator": first["applicator"],
        "licence": first["licence_number"],
        "keep_off": _keep_off(day, first["end_time"], label, said),
        "water_in": _water_in(day, label, said),
        "dry_h": label.row["rainfast_h"] if label else None,
        "seed_from": _seed_from(day, product, known, said),
        "seed_sure": label is not None and label.row["reseed_wk"] is not None,
        "is_seed": first["task"] == "overseeding",
        "mow_from": _mow_from(day, first["task"], said),
        "on_turf": "turf" in str(task["ground"]).split(";"),
    }


def _sum(rows: Sequence[Row], column: str) -> float | None:
    """Return the sum over rows, None where one of them is not known."""
    values = [row[column] for row in rows]
    return None if None in values else float(sum(values))


def _area_sqft(rows: Sequence[Row]) -> float | None:
    area_m2 = _sum(rows, "area_treated_m2")
    return None if area_m2 is None else square_feet(area_m2)


def _keep_off(
    day: date, end_time: str | None, product: Product | None, said: Words
) -> dict[str, Any] | None:
    """Return until when people and pets keep off, as far as the product's row and the record say.

    Time runs from the end of the work.
    """
    hours = product.row["reentry_h"] if product else None
    if hours is None:
        return None
    if not end_time:
        return {"hours": hours, "time": None, "day": None}
    over = datetime.combine(day, time.fromisoformat(end_time)) + timedelta(hours=hours)
    return {"hours": hours, "time": f"{over:%H:%M}", "day": said.day(over.date())}


def _water_in(day: date, product: Product | None, said: Words) -> dict[str, Any] | None:
    if product is None or not product.row["water_in_depth_in"]:
        return None
    within_d = product.row["water_in_within_d"]
    by = None if within_d is None else said.day(day + timedelta(days=int(within_d)))
    return {"depth_in": product.row["water_in_depth_in"], "by": by}


def _seed_from(day: date, product: Product | None, known: Knowledge, said: Words) -> str | None:
    """Return the first day on which seed may be sown, None where that is not known."""
    weeks = None if product is None or not product.actives else wait_wk(product, known)
    return None if weeks is None else said.day(day + timedelta(days=round(7 * weeks)))


def _mow_from(day: date, task: str, said: Words) -> str | None:
    row = table("after_care").by("task").get(task)
    if row is None or row["mow_after_d"] is None:
        return None
    return said.day(day + timedelta(days=int(row["mow_after_d"])))
