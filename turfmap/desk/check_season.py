"""What the season's rules hold against a product on each zone on a day."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from turfmap.days.conditions import SeasonHold
from turfmap.days.knowledge import Knowledge
from turfmap.days.products import Product
from turfmap.desk.season_inputs import season_inputs
from turfmap.desk.weather import Given
from turfmap.foundations.dates import day_words
from turfmap.foundations.definitions import table
from turfmap.season.board import Board
from turfmap.season.due import judged_for
from turfmap.season.finding import ASK
from turfmap.season.judging import Judgement
from turfmap.season.rules import listed

# The hold that names every sort of feeding: what a plain fertiliser serves.
FEEDINGS = "feeding_interval"


@dataclass(frozen=True)
class SeasonSays:
    """What the season says of one zone.

    Attributes
    ----------
    holds
        What stands against the work.
    mind
        What is told and holds nothing.
    """

    holds: tuple[SeasonHold, ...]
    mind: tuple[str, ...]


def season_says(
    path: Path,
    product: Product,
    *,
    day: date,
    given: Given,
    known: Knowledge,
    property_name: str,
) -> tuple[dict[str, SeasonSays], list[str]]:
    """Return what the season says of each zone of a property, by the zone's name, and notes.

    Of several tasks that a product serves, the one counts whose window is open and that least
    stands against; where none is open, of all of them.
    """
    inputs = season_inputs(path, as_of=day, given=given, property_name=property_name)
    board = judged_for(
        inputs.known.zones,
        [day],
        answers=inputs.known.answers,
        visits=inputs.known.visits,
        weather=inputs.known.weather,
        **inputs.more,
    )
    tasks = _served(product, known)
    said = {
        name: _says(board, int(which), tasks)
        for name, which in zip(inputs.known.zones["name"], board.which, strict=True)
    }
    return said, inputs.notes


def _served(product: Product, known: Knowledge) -> frozenset[str]:
    """Return the tasks that a product serves."""
    actives = {one.name for one in product.actives}
    tasks = {task for task, active in known.serving if active in actives}
    if product.feeds:
        tasks |= set(listed(table("hold").by("hold")[FEEDINGS]["other_tasks"]))
    return frozenset(tasks)


def _says(board: Board, situation: int, tasks: Collection[str]) -> SeasonSays:
    found = [
        (bool(each.counting.is_open[0]), each.at(0))
        for each in board.ranked(situation, 0)
        if each.task["task"] in tasks
    ]
    if not found:
        return SeasonSays((), ("Nothing in the calendar of this ground is served by it.",))
    is_open = any(one for one, _ in found)
    counted = [judgement for one, judgement in found if one or not is_open]
    best = min(counted, key=_weight)
    holds = tuple(SeasonHold(one.words, one.effect == ASK) for one in best.findings)
    return SeasonSays(holds, () if is_open else (_not_due(best),))


def _weight(found: Judgement) -> tuple[int, int]:
    """Return how much stands against a task: what is held, then what is asked."""
    asks = sum(one.effect == ASK for one in found.findings)
    return len(found.findings) - asks, asks


def _not_due(found: Judgement) -> str:
    title = found.task["title"]
    if found.window is None:
        return f"{title}: no window is known for this ground."
    opens, closes = day_words(found.window.opens), day_words(found.window.closes)
    return f"Not due on that day: {title} is from {opens} to {closes}."
