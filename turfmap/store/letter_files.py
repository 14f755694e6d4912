"""Folders of letters: a business's own templates read, and a batch written whole or not at all."""

import shutil
from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path

from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.store.written_files import (
    clear,
    force_to_disk,
    name_to_make_under,
    write_to_disk,
)

LARGEST_TEXT_BYTES = 200_000


def read_texts(folder: Path, names: Iterable[str]) -> dict[str, str]:
    """Read those of some files that a folder holds, as text.

    Parameters
    ----------
    folder
        Where they are.
    names
        Plain names; nothing else in the folder is opened.

    Raises
    ------
    InputFaultsError
        If there is no such folder, or a file is no text in UTF-8 or larger than 200 kB.
    """
    if not folder.is_dir():
        raise input_fault("there is no such folder", "name a folder", file=str(folder))
    found: dict[str, str] = {}
    faults = []
    for name in names:
        path = folder / name
        if not path.is_file():
            continue
        try:
            found[name] = _text(path)
        except (OSError, ValueError) as error:
            faults.append(Fault(str(path), "", f"it cannot be read ({error})", "save it as UTF-8"))
    if faults:
        raise InputFaultsError(faults)
    return found


def _text(path: Path) -> str:
    with path.open("rb") as file:
        content = file.read(LARGEST_TEXT_BYTES + 1)
    if len(content) > LARGEST_TEXT_BYTES:
        raise ValueError(f"it is larger than {LARGEST_TEXT_BYTES:,} bytes")
    return content.decode("utf-8-sig")


def write_folder(folder: Path, contents: Mapping[str, bytes]) -> None:
    """Write a new folder with all of its files, or nothing.

    Parameters
    ----------
    folder
        It must not be there yet, or be empty: letters of another day are never mixed in.
    contents
        By plain file name.

    Raises
    ------
    InputFaultsError
        If the folder holds something, or cannot be written.
    """
    making = name_to_make_under(folder)
    try:
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            raise input_fault(
                "it holds something already", "name a new folder for each batch", file=str(folder)
            )
        clear(making)
        making.mkdir(parents=True)
        for name, content in contents.items():
            write_to_disk(making / name, content)
        with suppress(FileNotFoundError):
            folder.rmdir()
        making.rename(folder)
        force_to_disk(folder.parent)
    except OSError as error:
        raise input_fault(
            f"it cannot be written ({error.strerror})",
            "choose a folder that you may write to and that has room",
            file=str(folder),
        ) from None
    finally:
        shutil.rmtree(making, ignore_errors=True)
