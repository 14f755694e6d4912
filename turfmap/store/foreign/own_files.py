"""Copies of foreign files, made by counting the bytes that really come."""

from pathlib import Path

from turfmap.foundations.errors import input_fault

BLOCK = 1024 * 1024


def copied(path: Path, target: Path, most_bytes: int) -> Path:
    """Copy a file of at most `most_bytes` to a new file; return the new one.

    Raises
    ------
    InputFaultsError
        If the file is larger, or cannot be read.
    """
    written = 0
    try:
        with path.open("rb") as source, target.open("xb") as sink:
            while block := source.read(BLOCK):
                written += len(block)
                if written > most_bytes:
                    raise input_fault(f"it is larger than {most_bytes:,} bytes", "give it in parts")
                sink.write(block)
    except OSError as error:
        raise input_fault(f"it cannot be copied ({error.strerror})", "check rights and room") from (
            error
        )
    return target
