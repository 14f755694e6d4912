"""CSV for a spreadsheet: a cell that came from a person is never a formula there.

References
----------
RFC 4180 (quoting, line ends). A spreadsheet takes a cell that begins with ``=``, ``+``, ``-``,
``@``, a tab or a line end for a formula, quoted or not: such text gets an apostrophe before it,
which is how a person would say "this is text". Common practice, no source.
"""

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from turfmap.foundations.errors import input_fault
from turfmap.store.written_files import write_whole

FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r", "\n")
# The same signs as some keyboards write them; a spreadsheet may fold them to the plain ones.
WIDE_SIGNS = ("\uff1d", "\uff0b", "\uff0d", "\uff20")


def read_text(path: Path, *, most_bytes: int, fewer: str) -> str:
    """Return the text of a table that a person hands in.

    Parameters
    ----------
    path
        UTF-8, with or without a mark at its beginning.
    most_bytes
        A larger file is not read.
    fewer
        What to do about a larger one.

    Raises
    ------
    InputFaultsError
        If it is larger, cannot be read, or is no such text.
    """
    try:
        if path.stat().st_size > most_bytes:
            raise input_fault(f"it is larger than {most_bytes / 1e6:.0f} MB", fewer, file=str(path))
        return path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise input_fault(
            f"it cannot be read ({error.strerror})", "check the name", file=str(path)
        ) from None
    except UnicodeDecodeError:
        raise input_fault("it is not UTF-8 text", "save it as CSV in UTF-8", file=str(path)) from (
            None
        )


def safe_cell(value: object) -> str:
    """Return a value as text that no spreadsheet runs; numbers stay numbers, None is empty."""
    if value is None:
        return ""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return f"{value:.15g}"
    text = str(value)
    starts = text.lstrip(" \u00a0\ufeff\x00")
    return f"'{text}" if starts.startswith(FORMULA_SIGNS + WIDE_SIGNS) else text


def csv_text(columns: Sequence[str], rows: Iterable[Mapping[str, Any]]) -> str:
    """Return rows as CSV with a heading."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow([safe_cell(column) for column in columns])
    writer.writerows([safe_cell(row.get(column)) for column in columns] for row in rows)
    return text.getvalue()


def write_csv(path: Path, columns: Sequence[str], rows: Iterable[Mapping[str, Any]]) -> None:
    """Write rows as CSV, whole or not at all.

    Raises
    ------
    InputFaultsError
        If the file cannot be written.
    """
    heading = csv_text(columns, [])
    write_whole(path, csv_text(columns, rows), mark=heading, endings=(".csv",))
