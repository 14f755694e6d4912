"""The user's product book: looked up, and what a product asks of the ground around it."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import geopandas as gpd

from turfmap.days.label_setbacks import setback_rows, what_is_applied
from turfmap.days.products import ANALYSIS, split
from turfmap.desk.own_rows import own_table
from turfmap.foundations.checks import checked_rows
from turfmap.foundations.definitions import Row, map_layer
from turfmap.foundations.errors import InputFaultsError, input_fault
from turfmap.ground.setbacks import Work
from turfmap.store import geopackage


def work_with(
    path: Path,
    product: str | None,
    properties: gpd.GeoDataFrame,
    reductions_pct: Mapping[str, float],
    cautions: list[str],
) -> tuple[Work, list[Row]]:
    """Return what is to be done with a product, and the setbacks that its own label gives.

    What must be said of them is added to `cautions`.

    Raises
    ------
    InputFaultsError
        If there is no such product.
    """
    stated = properties["state"].dropna()
    work = Work(
        places=tuple(sorted({place for text in stated for place in split(text)})),
    )
    if product is None:
        cautions.append(
            "No product was named: the distances are general ones, and its label may ask for more."
        )
        return work, []
    row = find_product(path, product)
    if row is None:
        cautions.append(
            f"{product} is an active ingredient, not a product: confirm distances on the label."
        )
        return replace(work, actives=(product,), kinds=("spray",)), []
    if row["confirmed_on"] is None:
        cautions.append(f"{product} has not been confirmed from its label: confirm on the label.")
    feeds = any(row[name] for name in ANALYSIS)
    kinds = ("spray",) * bool(row["active_ingredients"]) + ("fertilise",) * feeds
    labels = setback_rows(row, read_rows(path, "product_setback"), reductions_pct)
    return replace(work, actives=what_is_applied(row), kinds=kinds), labels


def find_product(path: Path, name: str) -> Row | None:
    """Return a product's row of the book; None if the name is that of an active ingredient.

    Raises
    ------
    InputFaultsError
        If it is neither.
    """
    for row in read_rows(path, "product"):
        if row["name"] == name:
            return row
    if name in own_table(path, "active_ingredient").by("active_ingredient"):
        return None
    raise input_fault(
        f"there is no product or active ingredient {name!r}",
        "import it with turfmap import … --as product, or name an active ingredient"
        " that turfmap layers active_ingredient lists",
        file=str(path),
    )


def read_rows(path: Path, layer_name: str) -> list[Row]:
    """Return a table's rows as declared; another program may have written anything into them.

    Raises
    ------
    InputFaultsError
        With everything that does not fit the declaration.
    """
    layer = map_layer(layer_name)
    frame = geopackage.read_layer(path, layer_name)
    raw = frame[list(layer.columns)].to_dict("records")
    records = [f"{layer_name} {fid}" for fid in frame["fid"]]
    rows, faults = checked_rows(raw, layer, file=str(path), records=records)
    found = [fault for mine in faults for fault in mine]
    if found:
        raise InputFaultsError(found)
    return rows
