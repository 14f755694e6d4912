"""What can be wrong with what a person gave us, said so that they can mend it."""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """One thing to mend, in one sentence.

    Attributes
    ----------
    file
        The file as the user named it; empty if no file is meant.
    record
        Which record, line or option of it, in words ("record 3 (Back lawn)").
    problem
        What is wrong, with the value that is wrong.
    mend
        What to do about it.
    """

    file: str
    record: str
    problem: str
    mend: str

    def __str__(self) -> str:
        """Return the sentence a person reads."""
        place = ", ".join(part for part in (self.file, self.record) if part)
        said = f"{place}: {self.problem}" if place else self.problem
        return f"{said}; {self.mend}." if self.mend else f"{said}."


class InputFaultsError(Exception):
    """Raised when the user's input needs mending; carries every fault found.

    The doors print one line a fault and end with exit status 2. Nothing has been written.
    """

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class FileFaultError(InputFaultsError):
    """Raised when the file itself is in the way; what was asked may work later, or elsewhere.

    Attributes
    ----------
    kind
        ``busy`` (another program holds it), ``readonly``, ``full`` (the disk) or ``unreadable``.
    """

    def __init__(self, kind: str, fault: Fault) -> None:
        self.kind = kind
        super().__init__([fault])


def input_fault(problem: str, mend: str, *, file: str = "", record: str = "") -> InputFaultsError:
    """Return the error for a single fault, ready to raise."""
    return InputFaultsError([Fault(file, record, problem, mend)])
