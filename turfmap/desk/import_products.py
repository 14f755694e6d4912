"""Checks of the product book on its way in: columns against each other, rows against the book."""

from collections.abc import Callable
from pathlib import Path

from turfmap.days.label_rates import row_rates
from turfmap.days.label_setbacks import measures
from turfmap.days.product_rows import read_product
from turfmap.desk.import_batch import Batch
from turfmap.desk.place import protected_kinds
from turfmap.foundations.definitions import Layer, Row
from turfmap.foundations.errors import Fault, InputFaultsError
from turfmap.store import geopackage


def product_faults(path: Path, batch: Batch, layer: Layer, *, file: str) -> None:
    """Find what is wrong across the columns of products, label rates and label setbacks."""
    read = _READ[layer.name]
    names: set[str] = set()
    known = set(geopackage.read_layer(path, "product")["name"])
    for index, row in enumerate(batch.rows):
        record, mine = batch.records[index], batch.faults[index]
        try:
            read(row, record, file)
        except InputFaultsError as error:
            mine += error.faults
        if layer.name == "product" and row["name"] in names:
            problem = f"{row['name']} is in the file twice"
            mine.append(Fault(file, record, problem, "leave one of them out"))
        if layer.name != "product" and row["product"] and row["product"] not in known:
            problem = f"there is no product {row['product']!r}"
            mine.append(Fault(file, record, problem, "correct the name, or import it first"))
        names.add(row.get("name") or "")


def _product(row: Row, record: str, file: str) -> None:
    read_product(row, record=record, file=file)


def _rate(row: Row, record: str, file: str) -> None:
    if row["rate"]:  # that it is missing has been told
        row_rates(row, record=record, file=file)


def _setback(row: Row, record: str, file: str) -> None:
    measures(row, record=record, file=file)
    if row["category"] and row["category"] not in protected_kinds():
        problem = f"there is no category {row['category']!r}"
        mend = f"choose one of {', '.join(protected_kinds())}"
        raise InputFaultsError([Fault(file, record, problem, mend)])


_READ: dict[str, Callable[[Row, str, str], None]] = {
    "product": _product,
    "product_rate": _rate,
    "product_setback": _setback,
}
BOOK = frozenset(_READ)
