"""What can be wrong with what a person gave us, said so that they can mend it."""

import errno
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


# The disk, the user's share of it, and the largest file that it takes.
_WITHOUT_ROOM = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}


def room_fault(error: OSError) -> FileFaultError | None:
    """Return what to tell if an error means that a disk is full; None if it means another thing.

    Some work needs room on the way, in the system's folder for such files. (If it finds none with
    room, `tempfile` says that there is no such folder.)
    """
    if error.errno not in _WITHOUT_ROOM and "usable temporary directory" not in str(error):
        return None
    problem = f"a disk has no room for what is made on the way ({error.strerror})"
    mend = "nothing was written; make room, or set TMPDIR to a folder that has some"
    where = error.filename if isinstance(error.filename, str) else ""
    return FileFaultError("full", Fault(where, "", problem, mend))
