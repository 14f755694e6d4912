"""Spoils files from a seed: cut short, bits turned, parts moved, numbers and words put in."""

import random
import re
from collections.abc import Callable, Iterator

from tests.hostile.hostile_texts import HOSTILE_TEXTS, NEVER_KEPT, NUMBERS

_NUMBER = re.compile(rb"-?\d+(?:\.\d+)?")
_WORD = re.compile(rb"[A-Za-z_]{3,}")
_TEXTS = [
    text.encode("utf-8", "surrogatepass")
    for text in [*HOSTILE_TEXTS.values(), *NEVER_KEPT.values()]
]
_BINARY = (
    b"\x00\x00\x00\x00",
    b"\xff\xff\xff\xff",
    b"\xff\xff\xff\x7f",
    b"\x00\x00\xf0\x7f",
    b"\x80",
)
Spoiler = Callable[[bytes, random.Random], bytes]


def _cut(content: bytes, chance: random.Random) -> bytes:
    return content[: chance.randrange(len(content))]


def _turned(content: bytes, chance: random.Random) -> bytes:
    spoilt = bytearray(content)
    for _ in range(chance.choice((1, 1, 2, 8, 64))):
        spoilt[chance.randrange(len(spoilt))] ^= 1 << chance.randrange(8)
    return bytes(spoilt)


def _put_in(content: bytes, chance: random.Random) -> bytes:
    at, put = chance.randrange(len(content)), chance.choice(_BINARY)
    return content[:at] + put + content[at + len(put) :]


def _piece(content: bytes, chance: random.Random) -> tuple[int, int]:
    at = chance.randrange(len(content))
    return at, min(len(content), at + chance.choice((1, 4, 16, 100, 1000)))


def _doubled(content: bytes, chance: random.Random) -> bytes:
    begin, end = _piece(content, chance)
    return content[:end] + content[begin:end] * chance.choice((1, 2, 50)) + content[end:]


def _left_out(content: bytes, chance: random.Random) -> bytes:
    begin, end = _piece(content, chance)
    return content[:begin] + content[end:]


def _swapped(content: bytes, chance: random.Random) -> bytes:
    middle = chance.randrange(len(content))
    return content[middle:] + content[:middle]


def _replaced(
    pattern: re.Pattern[bytes], put: bytes, content: bytes, chance: random.Random
) -> bytes:
    found = list(pattern.finditer(content))
    if not found:
        return _cut(content, chance)
    one = chance.choice(found)
    return content[: one.start()] + put + content[one.end() :]


def _number(content: bytes, chance: random.Random) -> bytes:
    return _replaced(_NUMBER, chance.choice(NUMBERS).encode(), content, chance)


def _word(content: bytes, chance: random.Random) -> bytes:
    return _replaced(_WORD, chance.choice(_TEXTS), content, chance)


OF_ANY: tuple[Spoiler, ...] = (_cut, _turned, _turned, _put_in, _doubled, _left_out, _swapped)
OF_TEXT: tuple[Spoiler, ...] = (*OF_ANY, _number, _number, _number, _word, _word, _word)


def spoilt(content: bytes, *, seed: int, count: int, is_text: bool) -> Iterator[tuple[str, bytes]]:
    """Yield names and contents of spoilt copies; the same seed makes the same ones."""
    spoilers = OF_TEXT if is_text else OF_ANY
    for number in range(count):
        chance = random.Random(seed * 1_000_003 + number)  # noqa: S311 - chance, not secrecy
        spoiler = spoilers[number % len(spoilers)]
        yield f"{spoiler.__name__.strip('_')} {seed}.{number}", spoiler(content, chance)
