"""Money as decimal numbers: read, multiplied and rounded the way a person does on paper."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from turfmap.foundations.errors import input_fault

_CODE = re.compile(r"[A-Z]{3}")
_MOST_DECIMALS = 4  # no currency of ISO 4217 has more; 127 is how C says "not known"
_PLAIN = re.compile(r"\d{1,9}(\.\d{1,4})?")


@dataclass(frozen=True)
class Currency:
    """What money is in.

    Attributes
    ----------
    code
        Three letters of ISO 4217; None: nobody said.
    decimals
        How many decimals its smallest coin has.
    """

    code: str | None = None
    decimals: int = 2


def currency_of(conventions: Mapping[str, Any]) -> Currency:
    """Return the currency of a locale; none where it names none, as the locale C does.

    Parameters
    ----------
    conventions
        As `locale.localeconv` gives them: ``int_curr_symbol`` is the code and one sign that parts
        it from the amount, ``int_frac_digits`` the decimals.
    """
    code = str(conventions.get("int_curr_symbol", ""))[:3]
    if not _CODE.fullmatch(code):
        return Currency()
    decimals = conventions.get("int_frac_digits")
    known = isinstance(decimals, int) and 0 <= decimals <= _MOST_DECIMALS
    return Currency(code, int(decimals)) if known and decimals is not None else Currency(code)


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
