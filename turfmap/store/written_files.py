"""Files that turfmap writes for people: whole, and never over something that it did not write."""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import replace
from os import getpid
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
    making = name_to_make_under(path)
    try:
        _refuse_to_replace(path, (mark,))
        clear(making)
        write_to_disk(making, content)
        making.replace(path)
        force_to_disk(path.parent)
    except OSError as error:
        raise _cannot(path, error) from None
    finally:
        with suppress(OSError):
            making.unlink(missing_ok=True)


def read_written(path: Path, *, mark: str, most_bytes: int = 50_000_000) -> str | None:
    """Return a text file that turfmap wrote before; None if there is none, or it is not ours.

    Raises
    ------
    InputFaultsError
        If it cannot be read, or is larger than what turfmap writes.
    """
    try:
        if not path.is_file():
            return None
        with path.open("rb") as there:
            content = there.read(most_bytes + 1)
    except OSError as error:
        said = f"it cannot be read ({error.strerror})"
        raise input_fault(said, "take it out of the folder", file=str(path)) from None
    if mark.encode("utf-8") not in content[:MARK_WITHIN]:
        return None
    if len(content) > most_bytes:
        raise input_fault("it is too large to be ours", "take it out of the folder", file=str(path))
    return content.decode("utf-8", errors="replace")


def name_to_make_under(path: Path) -> Path:
    """Return the name, in the same folder, under which something is made before it is whole."""
    return path.with_name(f".{path.name}.{getpid()}.making")


def clear(making: Path) -> None:
    """Remove what a killed run left under a name to make under, a database's journal with it.

    Numbers of processes come again, in a container at once; and what was left may be a second
    name of the finished file, so that it must never be written into.

    Raises
    ------
    OSError
        If something is there and cannot be removed.
    """
    if making.is_dir() and not making.is_symlink():
        shutil.rmtree(making)
    for ending in ("", "-journal", "-wal", "-shm"):
        making.with_name(making.name + ending).unlink(missing_ok=True)


def write_to_disk(path: Path, content: bytes) -> None:
    """Write a new file and wait until the disk has it: a name that comes first could be left empty.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    with path.open("xb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def force_to_disk(path: Path) -> None:
    """Wait until the disk has a finished file, or the names in a folder, where that can be done."""
    with suppress(OSError):  # not every system opens folders
        descriptor = os.open(path, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


@contextmanager
def replacing_together(folder: Path, *, marks: tuple[bytes, ...]) -> Iterator[Path]:
    """Write several files that belong together: none takes its place before all are whole.

    Parameters
    ----------
    folder
        Where they go; made if it is not there.
    marks
        A file of one of their names is replaced only if it holds one of these.

    Yields
    ------
    Path
        A folder to write them into; nothing else may be in it.

    Raises
    ------
    InputFaultsError
        If they cannot be written, or a file there is not ours to replace.
    """
    making = name_to_make_under(folder / "views")
    try:
        clear(making)
        making.mkdir(parents=True)
        yield making
        made = sorted(making.iterdir())
        for file in made:
            _refuse_to_replace(folder / file.name, marks)
        for file in made:
            file.replace(folder / file.name)
        force_to_disk(folder)
    except OSError as error:
        raise _cannot(folder, error) from None
    except InputFaultsError as error:  # told of the places that the user knows
        places = [str(folder / Path(fault.file).name) for fault in error.faults]
        raise InputFaultsError(
            replace(fault, file=place) for fault, place in zip(error.faults, places, strict=True)
        ) from None
    finally:
        shutil.rmtree(making, ignore_errors=True)


def _is_marked(beginning: bytes, end: bytes, mark: bytes) -> bool:
    return mark in beginning or mark in end


def _refuse_to_replace(path: Path, marks: tuple[bytes, ...]) -> None:
    if not path.exists():
        return
    if not os.access(path, os.W_OK):  # a new name would pass over what its owner forbade
        raise input_fault(
            "there is a file of that name that may not be written to",
            "choose another name, or allow writing",
            file=str(path),
        )
    with path.open("rb") as there:
        beginning = there.read(MARK_WITHIN)
        there.seek(max(0, path.stat().st_size - MARK_WITHIN_END))
        end = there.read(MARK_WITHIN_END)
    if not any(_is_marked(beginning, end, mark) for mark in marks):
        raise input_fault(
            "there is a file of that name that turfmap did not write",
            "choose another name",
            file=str(path),
        )


def _cannot(path: Path, error: OSError) -> InputFaultsError:
    return input_fault(
        f"it cannot be written ({error.strerror})",
        "choose a folder that you may write to and that has room",
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
    force_to_disk(path.parent)
