"""Products for tests, as rows of the book; the figures are our own."""

from turfmap.days.product_rows import read_product
from turfmap.days.products import Product
from turfmap.foundations.checks import checked_rows
from turfmap.foundations.definitions import Row, map_layer
from turfmap.foundations.errors import InputFaultsError

LIQUID = {
    "name": "Barrier",
    "active_ingredients": "dithiopyr",
    "concentrations": "2 lb/gal",
}


def row(layer: str, /, **columns: object) -> Row:
    """Return a row of a layer, or refuse it as an import would."""
    rows, faults = checked_rows([columns], map_layer(layer), file="", records=[""])
    if faults[0]:
        raise InputFaultsError(faults[0])
    return rows[0]


def product(**columns: object) -> Product:
    """Return a product: a liquid with 2 lb of dithiopyr in a gallon, unless told otherwise."""
    return read_product(row("product", **{**LIQUID, **columns}), record="test")
