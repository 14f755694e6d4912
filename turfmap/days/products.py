"""A product of the user's book: what it holds, in which amount, and what its label allows."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from turfmap.days.quantities import Rate
from turfmap.foundations.definitions import Row, table

if TYPE_CHECKING:
    from pint.registry import Quantity

PER_AREA_BY_VOLUME = "liter / meter ** 2"
PER_AREA_BY_WEIGHT = "kilogram / meter ** 2"
ANALYSIS = ("nitrogen_pct", "phosphate_pct", "potash_pct")
# The elements within what a fertiliser's analysis counts as oxides (Turfgrass Mathematics Review).
PHOSPHORUS_OF_PHOSPHATE = 0.44
POTASSIUM_OF_POTASH = 0.83


@dataclass(frozen=True)
class Active:
    """One active ingredient of a product.

    Attributes
    ----------
    concentration
        Its mass in a volume of product, or its share by weight; None where not entered.
    single_max, annual_max
        What the label allows of it; None where not entered.
    """

    name: str
    concentration: "Quantity[float] | None" = None
    single_max: Rate | None = None
    annual_max: Rate | None = None


@dataclass(frozen=True)
class Product:
    """A product of the user's book.

    Attributes
    ----------
    row
        All columns as entered, for what needs no calculation.
    weight
        The mass of a volume of it, where entered.
    """

    row: Row
    actives: tuple[Active, ...]
    weight: "Quantity[float] | None" = None
    rate: Rate | None = None
    rate_low: Rate | None = None
    rate_high: Rate | None = None
    carrier_low: Rate | None = None
    carrier_high: Rate | None = None
    pack: "Quantity[float] | None" = None

    @property
    def name(self) -> str:
        """What the user calls it."""
        return str(self.row["name"])

    @property
    def is_confirmed(self) -> bool:
        """Whether somebody has held this row against the label; without it nothing is a go."""
        return self.row["confirmed_on"] is not None

    @property
    def formulation(self) -> Row | None:
        """The row of the table formulation; None where the formulation is not entered."""
        return table("formulation").by("formulation").get(self.row["formulation"])

    @property
    def is_liquid(self) -> bool | None:
        """Whether it is measured by volume; None where the book does not tell."""
        if self.formulation is not None:
            return bool(self.formulation["measured_by"] == "volume")
        if any(one.concentration and not one.concentration.dimensionless for one in self.actives):
            return True
        if self.rate is not None and self.rate.of in {"", "product"}:
            return self.rate.is_volume
        return None

    @property
    def feeds(self) -> bool:
        """Whether it has a fertiliser's analysis."""
        return any(self.row[name] for name in ANALYSIS)

    def by_volume(self, per_area: "Quantity[float]") -> "Quantity[float] | None":
        """Return an amount of product for an area as a volume; None where its weight is unknown."""
        if per_area.is_compatible_with(PER_AREA_BY_VOLUME):
            return per_area
        if self.weight is None:
            return None
        found: Quantity[float] = per_area / self.weight
        return found

    def by_weight(self, per_area: "Quantity[float]") -> "Quantity[float] | None":
        """Return an amount of product for an area as a mass; None where its weight is unknown."""
        if per_area.is_compatible_with(PER_AREA_BY_WEIGHT):
            return per_area
        if self.weight is None:
            return None
        found: Quantity[float] = per_area * self.weight
        return found

    def active_within(
        self, active: Active, per_area: "Quantity[float]"
    ) -> "Quantity[float] | None":
        """Return how much of an active ingredient lies in an amount of product for an area.

        Returns
        -------
        pint.Quantity or None
            A mass for an area; None where the concentration, or the weight that it needs, is not
            entered.
        """
        if active.concentration is None:
            return None
        is_share = active.concentration.dimensionless
        product = self.by_weight(per_area) if is_share else self.by_volume(per_area)
        if product is None:
            return None
        found: Quantity[float] = product * active.concentration
        return found

    def nutrient_within(self, column: str, per_area: "Quantity[float]") -> "Quantity[float] | None":
        """Return how much of a nutrient (a column of `ANALYSIS`) lies in an amount for an area."""
        product = self.by_weight(per_area)
        if product is None:
            return None
        found: Quantity[float] = product * (float(self.row[column] or 0.0) / 100.0)
        return found

    def product_for(self, wanted: Rate) -> "Quantity[float] | None":
        """Return the product for an area that gives a rate of product, active or nitrogen.

        Returns
        -------
        pint.Quantity or None
            None where the book does not hold what the conversion needs: one active ingredient
            with its concentration, or the nitrogen of the analysis.
        """
        if wanted.of == "nitrogen":
            share = float(self.row["nitrogen_pct"] or 0.0) / 100.0
            if not share:
                return None
            fed: Quantity[float] = wanted.per_area / share
            return self._as_measured(fed)
        if wanted.of != "active":
            return self._as_measured(wanted.per_area)
        if len(self.actives) != 1 or self.actives[0].concentration is None:
            return None
        product: Quantity[float] = wanted.per_area / self.actives[0].concentration
        return self._as_measured(product)

    def _as_measured(self, per_area: "Quantity[float]") -> "Quantity[float]":
        """Return an amount for an area by volume for a liquid, if what it weighs is known."""
        volume = self.by_volume(per_area) if self.is_liquid else None
        return per_area if volume is None else volume


def limit_of_active(
    product: Product, active: Active, limit: Rate | None
) -> "Quantity[float] | None":
    """Return a limit as mass of active ingredient for an area.

    A limit by volume, or one that says so, is of the product; by weight, of the active ingredient.
    None where there is no limit, or it is of the product and the concentration is not entered.
    """
    if limit is None:
        return None
    if limit.is_volume or limit.of == "product":
        return product.active_within(active, limit.per_area)
    return limit.per_area


def lb_per_acre(per_area: "Quantity[float]") -> float:
    """Return a mass for an area in pounds per acre."""
    return float(per_area.to("pound / acre").magnitude)


def split(text: str | None) -> tuple[str, ...]:
    """Return the parts of a column that holds several values separated by ``;``."""
    return tuple(part.strip() for part in text.split(";")) if text else ()


def mixed_units(words: str, *, is_liquid: bool) -> tuple[str, str]:
    """Say that an amount is of the wrong kind, and the mend: an ounce is not a fluid ounce."""
    kind, what, unit = ("weight", "liquid", "fl oz") if is_liquid else ("volume", "dry", "oz")
    return (
        f"{words!r} is by {kind}, and the product is {what}",
        f"an ounce by weight is not a fluid ounce: write {unit} if that is meant",
    )
