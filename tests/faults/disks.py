"""Small disks: a file system in memory, filled until so much is left."""

import errno
import os
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

BYTES = 12_000_000


@contextmanager
def small_disk(folder: Path) -> Iterator[bool]:
    """Mount a disk of 12 MB on a folder; yield False, with a plain folder, where that is forbidden.

    What is tested on it has another way for that case: the limit of a file's size.
    """
    folder.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", f"size={BYTES},mode=755", "tmpfs", str(folder)]
    mounted = subprocess.run(command, capture_output=True, check=False).returncode == 0
    try:
        yield mounted
    finally:
        if mounted:
            subprocess.run(["umount", "--lazy", str(folder)], check=True)


@contextmanager
def filled(disk: Path, *, left: int) -> Iterator[None]:
    """Fill a disk with one file until at most so many bytes are left (whole pages of 4 KiB)."""
    filler = disk / "filler"
    with filler.open("wb", buffering=0) as file:
        try:
            while True:
                file.write(bytes(4096))
        except OSError as error:
            assert error.errno == errno.ENOSPC
        file.truncate(max(0, file.tell() // 4096 * 4096 - left // 4096 * 4096))
    try:
        yield
    finally:
        filler.unlink()


def read_only(disk: Path, *, is_read_only: bool) -> None:
    """Let a mounted disk refuse every write, or allow them again."""
    how = "ro" if is_read_only else "rw"
    subprocess.run(["mount", "-o", f"remount,{how}", str(disk)], check=True)


def may_pass_over_modes() -> bool:
    """Tell whether this user may write where permissions forbid it."""
    return os.geteuid() == 0
