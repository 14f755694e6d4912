"""What a file said, so that it is shown on a terminal and does nothing there."""

import re

# What steers a terminal (ECMA-48: C0 but tab and line feed, DEL, C1), ends a line in disguise,
# turns the way that text runs (Unicode Standard Annex 9, explicit directions), or is half a letter.
_STEERS = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]"
)


def visible(text: str) -> str:
    """Return text in which what steers a terminal is shown and does nothing."""
    return _STEERS.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def one_line(text: str) -> str:
    """Return text as one line that steers nothing: a fault is one sentence."""
    return visible(" ".join(text.splitlines()))
