"""Checks of the product book on its way in: columns against each other, rows against the book."""

from collections.abc import Callable, Mapping
from pathlib import Path

from turfmap.days.knowledge import Knowledge, knowledge
from turfmap.days.label_rates import row_rates
from turfmap.days.label_setbacks import measures
from turfmap.days.product_rows import read_product
from turfmap.days.products import Product, mixed_units
from turfmap.desk.import_batch import Batch
from turfmap.desk.own_rows import own_rows
from turfmap.desk.product_book import read_rows
from turfmap.desk.protected import protected_kinds
from turfmap.foundations.definitions import Layer, Row
from turfmap.foundations.errors import Fault, InputFaultsError


def product_faults(path: Path, batch: Batch, layer: Layer, *, file: str) -> None:
    """Find what is wrong across the columns of products, label rates and label setbacks."""
    read = _READ[layer.name]
    own = knowledge(own_rows(path))
    names: set[str] = set()
    products = {
        row["name"]: read_product(row, record=row["name"], file=str(path), known=own)
        for row in (read_rows(path, "product") if layer.name != "product" else ())
    }
    for index, row in enumerate(batch.rows):
        record, mine = batch.records[index], batch.faults[index]
        try:
            read(row, record, file, own)
        except InputFaultsError as error:
            mine += error.faults
        if layer.name == "product" and row["name"] in names:
            problem = f"{row['name']} is in the file twice"
            mine.append(Fault(file, record, problem, "leave one of them out"))
        if layer.name == "product_rate" and not mine:
            mine += _kind_faults(row, products, record, file)
        if layer.name != "product" and row["product"] and row["product"] not in products:
            problem = f"there is no product {row['product']!r}"
            mine.append(Fault(file, record, problem, "correct the name, or import it first"))
        names.add(row.get("name") or "")


def _kind_faults(row: Row, products: Mapping[str, Product], record: str, file: str) -> list[Fault]:
    """Find a rate by weight of a liquid, and one by volume of what is dry."""
    of = products.get(row["product"])
    if of is None:
        return []
    is_liquid = of.is_liquid
    rate = row_rates(row, record=record, file=file).rate
    if is_liquid in {None, rate.is_volume} or rate.of in {"active", "nitrogen"}:
        return []
    return [Fault(file, record, *mixed_units(rate.words, is_liquid=bool(is_liquid)))]


def _product(row: Row, record: str, file: str, known: Knowledge) -> None:
    read_product(row, record=record, file=file, known=known)


def _rate(row: Row, record: str, file: str, _known: Knowledge) -> None:
    if row["rate"]:  # that it is missing has been told
        row_rates(row, record=record, file=file)


def _setback(row: Row, record: str, file: str, _known: Knowledge) -> None:
    measures(row, record=record, file=file)
    if row["category"] and row["category"] not in protected_kinds():
        problem = f"there is no category {row['category']!r}"
        mend = f"choose one of {', '.join(protected_kinds())}"
        raise InputFaultsError([Fault(file, record, problem, mend)])


_READ: dict[str, Callable[[Row, str, str, Knowledge], None]] = {
    "product": _product,
    "product_rate": _rate,
    "product_setback": _setback,
}
BOOK = frozenset(_READ)
