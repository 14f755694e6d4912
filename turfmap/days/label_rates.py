"""Which of a label's rates is for a zone: by its grass and by what the work is for."""

from collections.abc import Sequence
from dataclasses import dataclass

from turfmap.days.products import Product
from turfmap.days.quantities import Rate, exceeds, rate
from turfmap.foundations.definitions import Row
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault


@dataclass(frozen=True)
class LabelRate:
    """A rate with the range that the label gives; None where it gives none."""

    rate: Rate
    low: Rate | None = None
    high: Rate | None = None


def row_rates(row: Row, *, record: str, file: str = "") -> LabelRate:
    """Read a checked row of the layer product_rate.

    Raises
    ------
    InputFaultsError
        With everything that is wrong with its rates.
    """
    found: dict[str, Rate | None] = {}
    faults = []
    for name in ("rate", "rate_low", "rate_high"):
        try:
            found[name] = rate(row[name], record=name) if row[name] else None
        except InputFaultsError as error:
            faults += [
                Fault(file, record, f"{name} is wrong: {fault.problem}", fault.mend)
                for fault in error.faults
            ]
    main, low, high = (found.get(name) for name in ("rate", "rate_low", "rate_high"))
    if faults or main is None:
        raise InputFaultsError(faults)
    for least, most in ((low, main), (main, high)):
        if least is None or most is None:
            continue
        if not least.per_area.is_compatible_with(most.per_area) or least.of != most.of:
            problem = f"{least.words} and {most.words} are of different kinds"
            faults.append(Fault(file, record, problem, "use one kind"))
        elif exceeds(least.per_area, most.per_area):
            problem = f"{least.words} is above {most.words}"
            faults.append(Fault(file, record, problem, "correct one of them"))
    if faults:
        raise InputFaultsError(faults)
    return LabelRate(main, low, high)


def check_target(product: Product, rows: Sequence[Row], target: str | None) -> None:
    """Refuse a target that the label does not name, and a label with several if none is named.

    Raises
    ------
    InputFaultsError
        If the target has to be given, or is not there.
    """
    targets = sorted({row["target"] for row in rows if row["target"]})
    few = ", ".join(targets[:10])
    if target is not None and target not in targets:
        mend = f"choose one of {few}" if targets else "leave it out"
        raise input_fault(f"{product.name} has no rate for {target!r}", mend, record="--target")
    if target is None and len(targets) > 1:
        raise input_fault(
            f"{product.name} has a rate for each of several targets",
            f"name one of {few}",
            record="--target",
        )


def rate_for(
    product: Product, rows: Sequence[Row], *, species: str | None, target: str | None
) -> LabelRate | None:
    """Return the label's rate for a grass and a target.

    Parameters
    ----------
    product
        Its own rate is taken where no row of the label fits, unless a target was named.
    rows
        The product's rows of the layer product_rate. The row that says more wins.

    Returns
    -------
    LabelRate or None
        None where no rate is entered for this grass and target.
    """
    fitting = [
        row
        for row in rows
        if row["species"] in {None, species} and (target is None or row["target"] in {None, target})
    ]
    if fitting:
        best = max(fitting, key=lambda row: (bool(row["species"]), bool(row["target"])))
        return row_rates(best, record=f"product_rate of {product.name}")
    if product.rate is None or target is not None:
        return None
    return LabelRate(product.rate, product.rate_low, product.rate_high)
