"""How many faults were tried, of which kind, and after which something was lost."""

import os
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

IS_LONG = bool(os.environ.get("TURFMAP_LONG"))


@dataclass
class Tally:
    """The count of one run of the tests.

    Attributes
    ----------
    tried
        How many faults of each kind.
    lost
        What was tried where a check failed afterwards.
    """

    tried: Counter[str] = field(default_factory=Counter)
    lost: list[str] = field(default_factory=list)

    @contextmanager
    def fault(self, kind: str, what: str, *, number: int = 1) -> Iterator[None]:
        """Count a fault; the block tries it and checks what is there afterwards."""
        self.tried[kind] += number
        try:
            yield
        except BaseException as error:
            self.lost.append(f"{kind}: {what}: {error}"[:300])
            raise


TALLY = Tally()
