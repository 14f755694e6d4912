"""Zip files from strangers: listed and unpacked within bounds, never outside the folder given."""

import stat
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath

from turfmap.foundations.errors import input_fault
from turfmap.store.foreign.limits import (
    MAX_ARCHIVE_MEMBERS,
    MAX_ARCHIVE_RATIO,
    MAX_FILE_BYTES,
    SMALL_MEMBER_BYTES,
)

BLOCK = 1024 * 1024
ENCRYPTED = 0x1  # bit 0 of the general purpose flags (PKWARE APPNOTE 4.4.4)


@contextmanager
def opened(path: Path) -> Iterator[zipfile.ZipFile]:
    """Open a zip file whose list of members has been found harmless.

    Raises
    ------
    InputFaultsError
        For a damaged file, too many members, a bomb, a password, or a path out of the archive.
    """
    try:
        with zipfile.ZipFile(path) as archive:
            _check(archive)
            yield archive
    except (zipfile.BadZipFile, NotImplementedError, EOFError, OSError, RuntimeError) as error:
        raise input_fault(
            f"the zip file is damaged ({str(error)[:200]})", "make it again"
        ) from error
    except (ValueError, zipfile.zlib.error) as error:  # type: ignore[attr-defined]
        raise input_fault(
            f"the zip file is damaged ({str(error)[:200]})", "make it again"
        ) from error


def members(archive: zipfile.ZipFile, suffix: str) -> list[zipfile.ZipInfo]:
    """Return the files with a suffix (".shp"), in any folder, without a desktop's own shadows."""
    return [
        member
        for member in archive.infolist()
        if not member.is_dir()
        and PurePosixPath(member.filename).suffix.lower() == suffix
        and "__MACOSX" not in PurePosixPath(member.filename).parts
        and not PurePosixPath(member.filename).name.startswith(".")
    ]


def unpack(archive: zipfile.ZipFile, member: zipfile.ZipInfo, target: Path) -> None:
    """Write one member to `target`, counting the bytes that really come out."""
    written = 0
    with archive.open(member) as source, target.open("xb") as sink:
        while block := source.read(BLOCK):
            written += len(block)
            if written > max(SMALL_MEMBER_BYTES, member.compress_size * MAX_ARCHIVE_RATIO):
                raise _bomb(member)
            sink.write(block)


def _check(archive: zipfile.ZipFile) -> None:
    found = archive.infolist()
    if len(found) > MAX_ARCHIVE_MEMBERS:
        raise input_fault(
            f"the zip file holds {len(found)} files", f"pack at most {MAX_ARCHIVE_MEMBERS}"
        )
    for member in found:
        _check_member(member)
    unpacked_bytes = sum(member.file_size for member in found)
    if unpacked_bytes > MAX_FILE_BYTES:
        raise input_fault(
            f"the zip file unpacks to {unpacked_bytes:,} bytes",
            f"give files of at most {MAX_FILE_BYTES:,} bytes together",
        )


def _check_member(member: zipfile.ZipInfo) -> None:
    # zipfile cuts a name at a NUL and turns "\" to "/" on Windows: judge what was written.
    written = member.orig_filename
    parts = PurePosixPath(written.replace("\\", "/")).parts
    if ".." in parts or written[:1] in {"/", "\\"} or ":" in written or "\x00" in written:
        raise input_fault(
            f"the zip file holds a path that leads out of it ({written[:80]!r})", "do not trust it"
        )
    if stat.S_ISLNK(member.external_attr >> 16):
        raise input_fault(
            f"the zip file holds a link ({written[:80]!r})", "pack the files themselves"
        )
    if member.flag_bits & ENCRYPTED:
        raise input_fault("the zip file needs a password", "unpack it first")
    if member.file_size > max(SMALL_MEMBER_BYTES, member.compress_size * MAX_ARCHIVE_RATIO):
        raise _bomb(member)


def _bomb(member: zipfile.ZipInfo) -> Exception:
    return input_fault(
        f"{member.filename[:80]!r} in the zip file unpacks to more than"
        f" {MAX_ARCHIVE_RATIO} times its size",
        "do not trust it; if it is honest, unpack it yourself and give the file inside",
    )
