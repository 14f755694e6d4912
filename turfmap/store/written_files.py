"""Files that turfmap writes for people: whole, and never over something that it did not write."""

import os
from contextlib import suppress
from pathlib import Path

from turfmap.foundations.errors import InputFaultsError, input_fault

# How far into a file its mark is looked for [characters].
MARK_WITHIN = 4_096
HTML_MARK = '<meta name="generator" content="turfmap">'
JSON_MARK = '"made_by": "turfmap"'


def write_whole(path: Path, text: str, *, mark: str, endings: tuple[str, ...]) -> None:
    """Write a text file so that a reader never sees half of it.

    Parameters
    ----------
    path
        Where to. A file of that name is replaced only if it holds the same mark.
    text
        What to write; it holds the mark near its beginning.
    mark
        What tells a file of this sort that turfmap wrote.
    endings
        The endings that such a file may have, lower case, with their dot.

    Raises
    ------
    InputFaultsError
        If the ending is another, the file is not ours to replace, or it cannot be written.
    """
    if mark not in text[:MARK_WITHIN]:
        raise AssertionError("a file without its mark could never be written again")
    if path.suffix.lower() not in endings:
        mend = f"give it a name that ends in {' or '.join(endings)}"
        raise input_fault("its ending is not that of what is written", mend, file=str(path))
    making = path.with_name(f".{path.name}.{os.getpid()}.making")
    try:
        _refuse_to_replace(path, mark)
        making.write_text(text, encoding="utf-8", newline="")
        making.replace(path)
    except OSError as error:
        raise _cannot(path, error) from None
    finally:
        with suppress(OSError):
            making.unlink(missing_ok=True)


def _refuse_to_replace(path: Path, mark: str) -> None:
    if not path.exists():
        return
    with path.open(encoding="utf-8", errors="replace", newline="") as there:
        is_ours = mark in there.read(MARK_WITHIN)
    if not is_ours:
        raise input_fault(
            "there is a file of that name that turfmap did not write",
            "choose another name",
            file=str(path),
        )


def _cannot(path: Path, error: OSError) -> InputFaultsError:
    return input_fault(
        f"it cannot be written ({error.strerror})",
        "choose a folder that you may write to",
        file=str(path),
    )
