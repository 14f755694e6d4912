"""What a disk may hold after a power cut, from what a program did and what it waited for.

Built from copies of a folder before each change of a file (`stepping`). A write that no fsync
followed may be there or not, in any of its sectors; a name that was made, changed or removed may be
so or not until its folder was fsynced, though in their order, as a journalling file system keeps
them. (fsync(2); Pillai et al. 2014, "All File Systems Are Not Created Equal", section 3.)
"""

import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

SECTOR = 512


@dataclass
class File:
    """Contents of one file: the one that the disk surely has, then those written since."""

    versions: list[bytes]

    def after_a_cut(self, chosen: random.Random) -> bytes:
        """Return sectors, each of one of the versions, and one of their lengths."""
        length = len(chosen.choice(self.versions))
        made = bytearray()
        for start in range(0, length, SECTOR):
            sector = chosen.choice(self.versions)[start : start + SECTOR]
            made += sector.ljust(min(SECTOR, length - start), b"\0")
        return bytes(made)


@dataclass
class Disk:
    """A folder on a disk: what its names stand for, and how the disk has it.

    Attributes
    ----------
    names
        What each name stands for now.
    kept
        The same as of the last time that the folder was fsynced.
    waiting
        What names stood for after each change since.
    """

    names: dict[str, File]
    kept: dict[str, File]
    waiting: list[dict[str, File]] = field(default_factory=list)

    def after_a_cut(self, chosen: random.Random) -> dict[str, bytes]:
        """Return one of the states that a power cut may leave."""
        names = chosen.choice([self.kept, *self.waiting])
        return {name: file.after_a_cut(chosen) for name, file in names.items()}

    def do(self, kind: str, name: str, before: dict[str, bytes], after: dict[str, bytes]) -> None:
        """Take in one change: what it was, and all files before and after it."""
        if kind == "sync" and name not in self.names:  # the folder itself
            self.kept, self.waiting = dict(self.names), []
        elif kind == "sync":
            self.names[name].versions = self.names[name].versions[-1:]
        self._rename(before, after)
        for one, content in after.items():
            if one not in self.names:
                # A link is a second name of what is there.
                self.names[one] = self.names[name] if kind == "link" else File([b""])
                self.waiting.append(dict(self.names))
            if self.names[one].versions[-1] != content:
                self.names[one].versions.append(content)

    def _rename(self, before: dict[str, bytes], after: dict[str, bytes]) -> None:
        gone = before.keys() - after.keys()
        for name in gone & self.names.keys():
            file = self.names.pop(name)
            for taken, content in after.items():
                was = before.get(taken)
                if was != content and content == file.versions[-1]:
                    self.names[taken] = file
            self.waiting.append(dict(self.names))


def contents(folder: Path) -> dict[str, bytes]:
    """Return what a folder's files hold, by their names."""
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def states_after_cuts(
    steps: Sequence[Sequence[str]], copies: Sequence[Path], *, seed: int, each: int
) -> list[tuple[int, dict[str, bytes]]]:
    """Return states that a power cut may leave, some for each moment.

    Parameters
    ----------
    steps
        Kind and name of each change.
    copies
        The folder before each of them, and after the last.
    seed
        Where chance begins.
    each
        How many states of each moment.

    Returns
    -------
    list of (int, dict)
        After how many steps the power went, and what is on the disk then.
    """
    chosen = random.Random(seed)  # noqa: S311
    held = contents(copies[0])
    disk = Disk({}, {})
    disk.names = {name: File([content]) for name, content in held.items()}
    disk.kept = dict(disk.names)
    found = [(0, disk.after_a_cut(chosen))]
    for number, (kind, name) in enumerate(steps):
        after = contents(copies[number + 1])
        disk.do(kind, name, held, after)
        held = after
        found += [(number + 1, disk.after_a_cut(chosen)) for _ in range(each)]
    return found
