"""Pictures of numbers: another library reads back every number, and no other file gets through."""

import struct
import zlib

import numpy as np
import pytest
from numpy.typing import NDArray
from rasterio.io import MemoryFile

from turfmap.views.grey_picture import MOST_PIXELS, grey_picture, is_grey_picture

SHAPES = [(1, 1), (1, 7), (40, 33), (300, 500)]


def greys(rows: int, columns: int) -> NDArray[np.uint8]:
    return np.random.default_rng(7).integers(0, 256, (rows, columns), dtype=np.uint8)


@pytest.mark.filterwarnings("ignore::rasterio.errors.NotGeoreferencedWarning")
@pytest.mark.parametrize(("rows", "columns"), SHAPES)
def test_gdal_reads_back_every_grey(rows: int, columns: int) -> None:
    drawn = greys(rows, columns)
    picture = grey_picture(drawn)
    assert is_grey_picture(picture)
    with MemoryFile(picture) as file, file.open(driver="PNG") as read:
        assert read.count == 1
        assert (read.read(1) == drawn).all()


def test_noise_is_hardly_larger_than_its_pixels() -> None:
    """So that the most pixels bound the most bytes."""
    assert len(grey_picture(greys(300, 500))) < 150_000 + 1_000


def chunk(kind: bytes, content: bytes) -> bytes:
    checksum = zlib.crc32(kind + content)
    return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", checksum)


def written(head: bytes, lines: bytes) -> bytes:
    parts = [(b"IHDR", head), (b"IDAT", zlib.compress(lines)), (b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunk(*part) for part in parts)


def head(columns: int, rows: int, *, depth: int = 8, colour: int = 0) -> bytes:
    return struct.pack(">IIBBBBB", columns, rows, depth, colour, 0, 0, 0)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"GIF89a",
        grey_picture(greys(9, 9))[:40],
        grey_picture(greys(9, 9))[:70],
        written(head(3, 2, colour=2), bytes(20)),
        written(head(3, 2, depth=16), bytes(14)),
        written(head(0, 2), b""),
        written(head(3, 2), bytes(8)),  # filter 0, not Up
        written(head(3, 2), b"\2\1\1\1"),  # a row short
        written(head(3, 2), b"\2\1\1\1" * 3),  # and one too many
        written(head(3, 2), b"\2" * 50_000_000),  # a bomb: its head does not ask for that
        written(head(MOST_PIXELS, 2), b"\2"),
    ],
)
def test_what_is_no_such_picture_is_told(content: bytes) -> None:
    assert not is_grey_picture(content)


def test_the_sound_form_of_those_passes() -> None:
    assert is_grey_picture(written(head(3, 2), b"\2\1\1\1\2\0\0\5"))
