"""Dates: always given, never taken from the clock."""

from datetime import date

from turfmap.foundations.errors import input_fault

# A day of work or a day asked about outside these is a slip of the pen.
FIRST_YEAR, LAST_YEAR = 1900, 2200


def iso_date(text: str, *, record: str, file: str = "") -> date:
    """Read a calendar date written as YYYY-MM-DD.

    Raises
    ------
    InputFaultsError
        If the text is not such a date.
    """
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise input_fault(
            f"{text!r} is not a date", "write it as YYYY-MM-DD", record=record, file=file
        ) from None


def month_day(text: str) -> tuple[int, int]:
    """Read a day of any year written as MM-DD.

    Returns
    -------
    tuple of int
        Month and day.

    Raises
    ------
    ValueError
        If there is no such day; 29 February is refused, as it is not in every year.
    """
    month, _, day = text.strip().partition("-")
    found = date(2001, int(month), int(day))
    return found.month, found.day


def on_month_day(year: int, text: str) -> date:
    """Return the date of ``MM-DD`` in a year."""
    month, day = month_day(text)
    return date(year, month, day)


def day_words(day: date) -> str:
    """Return a date as people write it: ``24 Sep 2026``."""
    return f"{day.day} {day:%b %Y}"
