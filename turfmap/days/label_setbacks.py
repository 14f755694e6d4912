"""The setbacks that a product's own label gives, as rows that stand over the shipped table."""

from collections.abc import Iterable, Mapping

from turfmap.days.products import split
from turfmap.foundations.definitions import Row
from turfmap.foundations.errors import Fault, InputFaultsError


def setback_rows(
    product: Row, labels: Iterable[Row], reductions_pct: Mapping[str, float]
) -> list[Row]:
    """Return a product's label setbacks as rows of the table setback.

    Parameters
    ----------
    product
        A row of the layer product.
    labels
        Rows of the layer product_setback.
    reductions_pct
        What measures in use for this run take off, by name [percentage points]. A measure that
        the row names as well counts once, as given for the run.

    Notes
    -----
    One row an active ingredient, so that it takes the place of the shipped row of the same one;
    a plain fertiliser stands under its own name.
    """
    is_confirmed = product["confirmed_on"] is not None
    return [
        {
            "category": row["category"],
            "active_ingredient": applied,
            "work": None,
            "place": None,
            "method": None,
            "downwind_only": row["downwind_only"] or None,
            "distance_ft": row["distance_ft"],
            "scope": "as entered in the product book",
            "source": f"label of {product['name']}",
            "how_read": "read" if is_confirmed else "memory",
            "reductions_pct": tuple((measures(row) | dict(reductions_pct)).values()),
        }
        for row in labels
        if row["product"] == product["name"]
        for applied in what_is_applied(product)
    ]


def what_is_applied(product: Row) -> tuple[str, ...]:
    """Return a product's active ingredients, or its own name where it has none."""
    return split(product["active_ingredients"]) or (product["name"],)


def measures(row: Row, *, record: str = "", file: str = "") -> dict[str, float]:
    """Read what each measure against drift takes off, such as ``hood=25; hedge=10`` [percent].

    Raises
    ------
    InputFaultsError
        With one fault for each part that is not a name with 0 to 100 %.
    """
    found, faults = {}, []
    for part in split(row["reductions"]):
        name, _, number = (piece.strip() for piece in part.partition("="))
        try:
            percent = float(number.removesuffix("%"))
        except ValueError:
            percent = -1.0
        if not name or not 0.0 <= percent <= 100.0:
            problem = f"reductions holds {part[:60]!r}, which is no measure with 0 to 100 %"
            faults.append(Fault(file, record, problem, "write it as hood=25; hedge=10"))
        found[name] = percent
    if faults:
        raise InputFaultsError(faults)
    return found
