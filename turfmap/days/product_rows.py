"""Rows of the product book read into products: every fault within and across columns told."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

from turfmap.days.amounts import is_volume
from turfmap.days.knowledge import Knowledge, shipped
from turfmap.days.products import (
    ANALYSIS,
    Active,
    Product,
    lb_per_acre,
    limit_of_active,
    mixed_units,
    split,
)
from turfmap.days.quantities import Rate, amount, concentration, exceeds, quantity_of, rate
from turfmap.foundations.definitions import Row
from turfmap.foundations.errors import Fault, InputFaultsError

if TYPE_CHECKING:
    from pint.registry import Quantity

Read = TypeVar("Read")


def read_product(
    row: Row, *, record: str, file: str = "", known: Knowledge | None = None
) -> Product:
    """Read a checked row of the layer product.

    Parameters
    ----------
    row
        A value or None for every column.
    record, file
        What is being read, for the sentences that refuse it.
    known
        Which active ingredients there are; None: those that ship with turfmap.

    Raises
    ------
    InputFaultsError
        With everything that is wrong within and across its columns.
    """
    reading = _Reading(row, record, file, known or shipped())
    names = split(row["active_ingredients"])
    parts = {
        column: reading.each(column, names, read)
        for column, read in (
            ("concentrations", concentration),
            ("single_max", rate),
            ("annual_max", rate),
        )
    }
    actives = tuple(Active(*values) for values in zip(names, *parts.values(), strict=True))
    weight = row["weight_lb_per_gal"]
    product = Product(
        row,
        actives,
        weight=None if weight is None else quantity_of(weight, "pound / gallon"),
        pack=reading.one("pack", amount),
        **{name: reading.one(name, rate) for name in _RATES},
    )
    reading.across(product)
    if reading.faults:
        raise InputFaultsError(reading.faults)
    return product


_RATES = ("rate", "rate_low", "rate_high", "carrier_low", "carrier_high")


class _Reading:
    """One row being read, and what was found wrong with it."""

    def __init__(self, row: Row, record: str, file: str, known: Knowledge) -> None:
        self.row, self.record, self.file, self.known = row, record, file, known
        self.faults: list[Fault] = []

    def fault(self, problem: str, mend: str) -> None:
        self.faults.append(Fault(self.file, self.record, problem, mend))

    def one(self, column: str, read: Callable[..., Read]) -> Read | None:
        """Read one column of text, noting its faults."""
        text = self.row[column]
        return self._read(column, text, read) if text else None

    def each(
        self, column: str, names: tuple[str, ...], read: Callable[..., Read]
    ) -> list[Read | None]:
        """Read a column that holds one value an active ingredient; an empty one is None."""
        texts = split(self.row[column])
        if texts and len(texts) != len(names):
            self.fault(
                f"{column} holds {len(texts)} values for {len(names)} active ingredients",
                "give one each, separated by ;",
            )
            texts = ()
        found = [self._read(column, text, read) if text else None for text in texts]
        return found or [None] * len(names)

    def _read(self, column: str, text: str, read: Callable[..., Read]) -> Read | None:
        try:
            return read(text, record=column)
        except InputFaultsError as error:
            for fault in error.faults:
                self.fault(f"{column} is wrong: {fault.problem}", fault.mend)
            return None

    def across(self, product: Product) -> None:
        """Check columns against each other."""
        self._contents(product)
        self._kinds(product)
        self._order(product)
        self._limits(product)

    def _contents(self, product: Product) -> None:
        names = [active.name for active in product.actives]
        if not names and not product.feeds:
            self.fault(
                "it says nothing of what it holds", "give active_ingredients or nitrogen_pct"
            )
        for name in dict.fromkeys(names):
            if name not in self.known.actives:
                self.fault(
                    f"{name!r} is no active ingredient that turfmap knows",
                    "write it as turfmap layers active_ingredient lists it",
                )
            if names.count(name) > 1:
                self.fault(f"{name} is named twice", "name each active ingredient once")
        percent = sum(float(self.row[name] or 0.0) for name in ANALYSIS)
        if percent > 100.0:
            self.fault(f"N, P2O5 and K2O sum to {percent:g} %", "correct the analysis")

    def _kinds(self, product: Product) -> None:
        """Check that a liquid is measured by volume, and what is dry by weight."""
        for name in ("rate", "rate_low", "rate_high"):
            found: Rate | None = getattr(product, name)
            if found is None:
                continue
            if found.of in {"", "product"}:
                self._kind(name, found.words, product, is_volume=found.is_volume)
            if product.product_for(found) is None:
                self.fault(
                    f"{name} {found.words!r} is a rate of {found.of}, and how much of it the"
                    " product holds is not entered",
                    "give concentrations or nitrogen_pct, or a rate of the product",
                )
        if product.pack is not None:
            self._kind("pack", self.row["pack"], product, is_volume=is_volume(product.pack))
        for name in ("carrier_low", "carrier_high"):
            carrier: Rate | None = getattr(product, name)
            if carrier is not None and not carrier.is_volume:
                self.fault(f"{name} {carrier.words!r} is no volume", "write it as 40 gal/acre")

    def _kind(self, name: str, words: str, product: Product, *, is_volume: bool) -> None:
        if product.is_liquid is not None and product.is_liquid != is_volume:
            problem, mend = mixed_units(words, is_liquid=product.is_liquid)
            self.fault(f"{name} {problem}", mend)

    def _order(self, product: Product) -> None:
        pairs: list[tuple[str, Any, str, Any]] = [
            (low, _of_product(product, low), high, _of_product(product, high))
            for low, high in (
                ("rate_low", "rate"),
                ("rate", "rate_high"),
                ("rate_low", "rate_high"),
                ("carrier_low", "carrier_high"),
            )
        ]
        pairs += [
            (low, self.row[low], high, self.row[high])
            for low, high in (("wind_low_mph", "wind_high_mph"), ("air_low_f", "air_high_f"))
        ]
        for low, least, high, most in pairs:
            if least is None or most is None:
                continue
            is_plain = isinstance(least, float | int)
            if not is_plain and not least.is_compatible_with(most):
                self.fault(f"{low} and {high} are measured in different kinds", "use one kind")
            elif least > most if is_plain else exceeds(least, most):
                self.fault(f"{low} is above {high}", "correct one of them")

    def _limits(self, product: Product) -> None:
        for active in product.actives:
            single = limit_of_active(product, active, active.single_max)
            annual = limit_of_active(product, active, active.annual_max)
            if single is not None and annual is not None and exceeds(single, annual):
                self.fault(
                    f"single_max of {active.name} is above its annual_max", "correct one of them"
                )
            for name in ("rate", "rate_high"):
                found: Rate | None = getattr(product, name)
                per_area = product.product_for(found) if found else None
                given = None if per_area is None else product.active_within(active, per_area)
                if given is not None and single is not None and exceeds(given, single):
                    self.fault(
                        f"{name} gives {lb_per_acre(given):.4g} lb of {active.name} an acre, above"
                        f" its single_max of {lb_per_acre(single):.4g}",
                        "correct one of them",
                    )


def _of_product(product: Product, column: str) -> "Quantity[float] | None":
    """Return a rate of the row as product for an area, whatever it is written as a rate of."""
    found: Rate | None = getattr(product, column)
    return None if found is None else product.product_for(found)
