"""Files that turfmap writes for people: whole, and never over something that it did not write."""

import os
from contextlib import suppress
from pathlib import Path

from turfmap.foundations.errors import InputFaultsError, input_fault

# How far from its beginning, or from its end, a file's mark is looked for [bytes]. (In a PDF it
# stands before the list of the file's parts, which is the last of it.)
MARK_WITHIN, MARK_WITHIN_END = 4_096, 262_144
HTML_MARK = '<meta name="generator" content="turfmap">'
JSON_MARK = '"made_by": "turfmap"'
PDF_MARK = b"/ID [(turfmap)"


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
    write_whole_bytes(path, text.encode("utf-8"), mark=mark.encode("utf-8"), endings=endings)


def write_whole_bytes(path: Path, content: bytes, *, mark: bytes, endings: tuple[str, ...]) -> None:
    """Write a file as `write_whole` does; the mark may also stand near its end.

    Raises
    ------
    InputFaultsError
        As `write_whole`.
    """
    if not _is_marked(content[:MARK_WITHIN], content[-MARK_WITHIN_END:], mark):
        raise AssertionError("a file without its mark could never be written again")
    if path.suffix.lower() not in endings:
        mend = f"give it a name that ends in {' or '.join(endings)}"
        raise input_fault("its ending is not that of what is written", mend, file=str(path))
    making = path.with_name(f".{path.name}.{os.getpid()}.making")
    try:
        _refuse_to_replace(path, mark)
        making.write_bytes(content)
        making.replace(path)
    except OSError as error:
        raise _cannot(path, error) from None
    finally:
        with suppress(OSError):
            making.unlink(missing_ok=True)


def _is_marked(beginning: bytes, end: bytes, mark: bytes) -> bool:
    return mark in beginning or mark in end


def _refuse_to_replace(path: Path, mark: bytes) -> None:
    if not path.exists():
        return
    with path.open("rb") as there:
        beginning = there.read(MARK_WITHIN)
        there.seek(max(0, path.stat().st_size - MARK_WITHIN_END))
        is_ours = _is_marked(beginning, there.read(MARK_WITHIN_END), mark)
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


def move_unless_there(making: Path, path: Path) -> None:
    """Give a finished file its name.

    Raises
    ------
    FileExistsError
        If there is a file of that name; it is left alone.
    """
    try:
        os.link(making, path)  # unlike a rename, never replaces a file made meanwhile
    except FileExistsError:
        raise
    except OSError:  # a file system without links
        if path.exists():
            raise FileExistsError from None
        making.rename(path)
