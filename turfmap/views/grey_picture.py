"""Grey pictures as PNG files in memory: numbers of one byte a pixel, kept to the bit.

They hold measurements, so nothing may round them on the way: no colours, no gamma, no alpha.

References
----------
W3C, Portable Network Graphics (PNG) Specification (Third Edition): 5.2 (signature), 5.6 (chunks),
9.2 (filter type 2, Up), 10.1 (zlib), 11.2.1 (IHDR).
"""

import struct
import zlib

import numpy as np
from numpy.typing import NDArray

Greys = NDArray[np.uint8]

_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_EIGHT_BIT_GREY = bytes([8, 0, 0, 0, 0])
_UP = 2
MOST_PIXELS = 1_000_000


def grey_picture(greys: Greys) -> bytes:
    """Return a picture of one grey byte a pixel as a PNG file.

    Parameters
    ----------
    greys
        Shape (rows, columns), rows from the top.
    """
    rows, columns = greys.shape
    # Each row as its difference from the row above, modulo 256: smooth ground packs small.
    steps = np.diff(greys, axis=0, prepend=np.zeros((1, columns), dtype=np.uint8))
    lines = np.column_stack([np.full(rows, _UP, dtype=np.uint8), steps])
    head = struct.pack(">II", columns, rows) + _EIGHT_BIT_GREY
    return b"".join(
        [
            _SIGNATURE,
            _chunk(b"IHDR", head),
            _chunk(b"IDAT", zlib.compress(lines.tobytes(), level=9)),
            _chunk(b"IEND", b""),
        ]
    )


def _chunk(kind: bytes, content: bytes) -> bytes:
    checksum = zlib.crc32(kind + content)
    return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", checksum)


def is_grey_picture(content: bytes) -> bool:
    """Tell whether bytes are a picture as `grey_picture` writes them, of a bounded size.

    Files come from anywhere: a page unpacks what this lets through.
    """
    head = _SIGNATURE + struct.pack(">I", 13) + b"IHDR"
    if not content.startswith(head) or len(content) < len(head) + 13:
        return False
    columns, rows = struct.unpack(">II", content[len(head) : len(head) + 8])
    is_ours = content[len(head) + 8 : len(head) + 13] == _EIGHT_BIT_GREY
    return is_ours and 0 < rows * columns <= MOST_PIXELS and _unpacks(content, rows, columns)


def _unpacks(content: bytes, rows: int, columns: int) -> bool:
    """Tell whether a picture's only data, after its head, is of the size that the head says."""
    at = len(_SIGNATURE) + 25
    (size,) = struct.unpack(">I", content[at : at + 4].ljust(4, b"\0"))
    if content[at + 4 : at + 8] != b"IDAT":
        return False
    wanted = rows * (columns + 1)
    try:
        lines = zlib.decompressobj().decompress(content[at + 8 : at + 8 + size], wanted + 1)
    except zlib.error:
        return False
    return len(lines) == wanted and set(lines[:: columns + 1]) == {_UP}
