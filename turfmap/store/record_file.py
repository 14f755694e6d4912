"""Records brought home from the field: a JSON file, bounded, and nothing in it is believed."""

import json
from pathlib import Path
from typing import Any

from turfmap.foundations.errors import input_fault

# A season of one crew is a few thousand records of half a kilobyte.
MAX_BYTES = 4 * 1024 * 1024
MAX_RECORDS = 5_000
# A record in a list in an object, with a list of zones in it.
MAX_DEPTH = 4


def read_record_file(path: Path) -> list[Any]:
    """Read a list of records, or an object whose member ``records`` is one.

    Raises
    ------
    InputFaultsError
        If the file is too large, too deep, no JSON, or holds no list.
    """
    document = _parsed(path)
    records = document.get("records") if isinstance(document, dict) else document
    if not isinstance(records, list):
        raise input_fault("it holds no list of records", "export it again", file=str(path))
    if not 0 < len(records) <= MAX_RECORDS:
        raise input_fault(
            f"it holds {len(records):,} records", f"give 1 to {MAX_RECORDS:,}", file=str(path)
        )
    return records


def _parsed(path: Path) -> Any:
    try:
        if not path.is_file():
            raise input_fault("there is no such file", "correct its name", file=str(path))
        if path.stat().st_size > MAX_BYTES:
            raise input_fault(
                f"it has {path.stat().st_size:,} bytes, more than {MAX_BYTES:,}",
                "bring it in as several files",
                file=str(path),
            )
        text = path.read_bytes().decode("utf-8-sig")
        document = json.loads(text, parse_constant=_refuse_constant)
    except OSError as error:
        raise input_fault(
            f"it cannot be read ({error.strerror})", "allow reading", file=str(path)
        ) from None
    except RecursionError:
        raise _too_deep(path) from None
    except ValueError as error:  # of the text, the JSON, or a number of too many digits
        raise input_fault(
            f"it is not JSON in UTF-8 ({str(error)[:100]})", "export it again", file=str(path)
        ) from None
    if _deeper_than(document, MAX_DEPTH):
        raise _too_deep(path)
    return document


def _refuse_constant(name: str) -> float:
    raise ValueError(f"{name} is no number of JSON")


def _deeper_than(value: Any, depth: int) -> bool:
    if not isinstance(value, dict | list):
        return False
    inner = value.values() if isinstance(value, dict) else value
    return depth == 0 or any(_deeper_than(one, depth - 1) for one in inner)


def _too_deep(path: Path) -> Exception:
    return input_fault("it is nested too deep", "give a plain list of records", file=str(path))
