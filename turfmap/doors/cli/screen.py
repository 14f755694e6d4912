"""What the commands print: tables for people, JSON for programs, cautions for both."""

import json
import sys
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

import click
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from turfmap.doors.cli.visible import visible

# A pipe has no width of its own: tables printed into one are not folded.
WIDTH_OF_A_PIPE = 160
# Zones that are named where many wait for the same.
SHOWN_ZONES = 3


class Screen(Console):
    """A console that lets the main door decide what a reader who has gone means."""

    def on_broken_pipe(self) -> None:
        """Pass on that the reader has gone."""
        raise BrokenPipeError


def say(text: str) -> None:
    """Print a sentence that may hold what a file said."""
    click.echo(visible(text))


def console() -> Console:
    """Return the console for results."""
    width = None if sys.stdout.isatty() else WIDTH_OF_A_PIPE
    return Screen(width=width, highlight=False, soft_wrap=False)


def print_json(result: Any) -> None:
    """Print a result as JSON."""
    text = json.dumps(result, indent=1, ensure_ascii=False, allow_nan=False, default=str)
    say(text)  # such letters stand in strings alone, and "\u001b" is how JSON itself writes them


def print_table(
    title: str,
    headings: Sequence[str],
    rows: Iterable[Sequence[str]],
    *,
    numbers: Iterable[int] = (),
) -> None:
    """Print rows under headings; columns in `numbers` are set to the right."""
    right = set(numbers)
    table = Table(
        title=escape(visible(title)),
        title_justify="left",
        header_style="bold",
        row_styles=["", "dim"],
    )
    for place, heading in enumerate(headings):
        table.add_column(heading, justify="right" if place in right else "left", overflow="fold")
    for row in rows:
        table.add_row(*(escape(visible(cell)) for cell in row))
    console().print(table)


def print_lines(lines: Iterable[str], *, heading: str = "") -> None:
    """Print sentences under a heading, one bullet each; nothing if there are none."""
    found = list(dict.fromkeys(lines))
    if not found:
        return
    if heading:
        console().print(f"[bold]{escape(visible(heading))}[/bold]")
    for line in found:
        console().print(f"- {escape(visible(line))}")


def said_once(lines: Iterable[tuple[str, str, str]]) -> list[str]:
    """Say once what many zones wait for; ``--json`` names them all.

    Parameters
    ----------
    lines
        What waits, why, and the zone.
    """
    zones: dict[tuple[str, str], list[str]] = {}
    for title, why, zone in lines:
        zones.setdefault((title, why), []).append(zone)
    return [
        f"{title}: {', '.join(names[:SHOWN_ZONES])}"
        + (f" and {len(names) - SHOWN_ZONES} more" if len(names) > SHOWN_ZONES else "")
        + f". {why}"
        for (title, why), names in zones.items()
    ]


@contextmanager
def working(what: str) -> Iterator[None]:
    """Show on stderr that work goes on, for as long as it does."""
    with Console(stderr=True).status(f"{escape(what)} …"):
        yield
