"""The window table, its rows put together by the window that they make."""

from collections.abc import Iterable
from dataclasses import dataclass

from turfmap.foundations.definitions import Row


@dataclass(frozen=True, eq=False)
class WindowRows:
    """The rows of the window table that make one window, apart by edge.

    Attributes
    ----------
    follows
        The tasks whose visits move it.
    """

    task: str
    name: str
    opens: tuple[Row, ...]
    closes: tuple[Row, ...]
    follows: tuple[str, ...]


def grouped(rows: Iterable[Row]) -> dict[str, list[WindowRows]]:
    """Return the windows of each task."""
    found: dict[tuple[str, str], list[Row]] = {}
    for row in rows:
        found.setdefault((row["task"], row["window"]), []).append(row)
    windows: dict[str, list[WindowRows]] = {}
    for (task, name), mine in found.items():
        opens = tuple(row for row in mine if row["edge"] == "opens")
        closes = tuple(row for row in mine if row["edge"] == "closes")
        follows = tuple(sorted({row["after_task"] for row in mine if row["after_task"]}))
        windows.setdefault(task, []).append(WindowRows(task, name, opens, closes, follows))
    return windows
