"""Money as decimal numbers: read, multiplied and rounded the way a person does on paper."""

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from turfmap.foundations.errors import input_fault

_PLAIN = re.compile(r"\d{1,9}(\.\d{1,4})?")


@dataclass(frozen=True)
class Price:
    """What is asked for some work.

    Attributes
    ----------
    amount
        Rounded to the currency's smallest coin.
    is_minimum
        Whether it is the least price of a visit.
    """

    amount: Decimal
    is_minimum: bool


def money(text: str, *, record: str, file: str = "") -> Decimal:
    """Read a price such as ``12.50``.

    Raises
    ------
    InputFaultsError
        If it is no plain decimal number from 0 to 999,999,999 with four decimals at most.
    """
    plain = text.strip()
    if not _PLAIN.fullmatch(plain):
        mend = "write a plain decimal number, such as 12.50"
        raise input_fault(f"{text[:40]!r} is not a price", mend, record=record, file=file)
    return Decimal(plain)


def rounded(amount: Decimal, decimals: int) -> Decimal:
    """Return an amount rounded to so many decimals, halves up."""
    return amount.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_UP)


def price_of(quantity: Decimal, price: Decimal, *, minimum: Decimal | None, decimals: int) -> Price:
    """Return the price of a quantity, or the least price where that is more."""
    plain = rounded(quantity * price, decimals)
    if minimum is not None and plain < minimum:
        return Price(rounded(minimum, decimals), is_minimum=True)
    return Price(plain, is_minimum=False)


def margin_pct(price: Decimal, cost: Decimal) -> Decimal | None:
    """Return what is left of a price after its cost [percent of the price]; None for no price."""
    return None if not price else rounded(100 * (price - cost) / price, 1)


def shown(amount: Decimal, currency: str | None, decimals: int) -> str:
    """Return an amount as it is written, with the currency's code before it."""
    plain = f"{rounded(amount, decimals):,}"
    return f"{currency} {plain}" if currency else plain
