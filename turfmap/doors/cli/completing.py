"""What Tab offers after an option: a value for ``shell_complete`` each.

They never fail and never write: where the place cannot be read, nothing is offered.
"""

import re
from collections.abc import Callable, Sequence
from pathlib import Path

import click

from turfmap.desk import offered
from turfmap.foundations.definitions import DefinitionError

Offer = Callable[[click.Context, click.Parameter, str], list[str]]
# A name comes from a file, and a shell puts it on a line that is then run: whatever could be more
# than a name to a shell is not offered. Letters of any language are.
_A_NAME = re.compile(r"[\w ,.()/#+&'-]+")


def _offer(find: Callable[[click.Context, str], Sequence[str]]) -> Offer:
    def offer(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:
        try:
            return [name for name in find(ctx, incomplete) if _A_NAME.fullmatch(name)]
        except (OSError, ValueError, RuntimeError, DefinitionError):
            return []

    return offer


def _place(ctx: click.Context) -> Path:
    """Return the place on the line: behind an option without its value, click leaves it unread."""
    return Path(ctx.params.get("place") or next(iter(ctx.args), "")).expanduser()


def _property(ctx: click.Context) -> str | None:
    """Return the one property that the line names so far, under any of the names it goes by."""
    for name in ("property_name", "properties", "property"):
        given = ctx.params.get(name)
        if given:
            return str(given if isinstance(given, str) else given[-1])
    return None


properties = _offer(lambda ctx, starts: offered.properties(_place(ctx), starts))
zones = _offer(lambda ctx, starts: offered.zones(_place(ctx), starts, of=_property(ctx)))
products = _offer(lambda ctx, starts: offered.products(_place(ctx), starts))
layers = _offer(lambda _, starts: offered.layers(starts))
layers_and_tables = _offer(lambda _, starts: offered.layers_and_tables(starts))
tasks = _offer(lambda _, starts: offered.rows("task", starts))
states = _offer(lambda _, starts: offered.rows("state", starts))
bed_materials = _offer(lambda _, starts: offered.rows("bed_material", starts))
