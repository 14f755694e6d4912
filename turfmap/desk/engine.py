"""Who does work that falls into parts: this process, or others that are sent the parts."""

from collections.abc import Callable, Sequence
from typing import Protocol, TypeVar

Part = TypeVar("Part")
Found = TypeVar("Found")

# A part of this many zones with all that is near takes some megabytes to send.
MOST_OF_A_PART = 1_024
# Smaller ones than this take longer to send than to do.
LEAST_OF_A_PART = 8
PARTS_A_WORKER = 4


class Engine(Protocol):
    """Something that does the parts of a work; what comes out does not depend on which."""

    @property
    def workers(self) -> int:
        """How many parts it does at a time."""

    def each(self, work: Callable[[Part], Found], parts: Sequence[Part]) -> list[Found]:
        """Do a function of a module on each part, and return what was found in their order."""

    def size_of_a_part(self, count: int) -> int:
        """Return how many of some zones a part has at most."""


def part_size(count: int, workers: int) -> int:
    """Return a size that keeps all workers busy, and no part too large to send."""
    even = -(-count // (PARTS_A_WORKER * workers))
    return min(max(even, LEAST_OF_A_PART), MOST_OF_A_PART)
