"""What a grass bears in plain English, with the figures to check on each label."""

from collections.abc import Sequence
from itertools import product

from turfmap.foundations.definitions import Row
from turfmap.season.actives import CAUTION, DORMANT, NOT, SAFE, UNKNOWN, Verdict
from turfmap.season.case import Moment
from turfmap.season.edge_words import UNVERIFIED_LABEL
from turfmap.season.judging import Judgement

# From what may be used to what may not, and how each is said of a grass.
_SAID = {
    SAFE: "Borne by {grass} when labelled",
    CAUTION: "With caution on {grass}, at a lower rate and only once established",
    DORMANT: "Only on fully dormant {grass}",
    NOT: "Not on {grass}",
    UNKNOWN: "Not known for {grass}, read the label",
}


def active_lines(found: Judgement, moment: Moment) -> list[str]:
    """Return what the grass bears of what serves the task, and what it does not."""
    row = moment.rules.species.get(moment.ground.species or "")
    if not found.task["chemical"] or row is None:
        return []
    grass = row["words"]
    if moment.answered("overseeding").answer == "done":
        grass += " with sown ryegrass"
    return said(found.verdicts, grass)


def said(found: Sequence[Verdict], grass: str) -> list[str]:
    """Return one line for each sort of verdict: what the grass bears and what it does not."""
    lines = []
    for (letter, words), is_memory in product(_SAID.items(), (False, True)):
        names = [
            verdict.active
            for verdict in found
            if verdict.letter == letter
            and verdict.is_from_memory == is_memory
            and (letter == NOT or not verdict.why)
        ]
        if names:
            mark = f" ({UNVERIFIED_LABEL})" if is_memory else ""
            lines.append(f"{words.format(grass=grass)}: {', '.join(names)}{mark}.")
    near: dict[str, list[str]] = {}
    for verdict in found:
        if verdict.why and verdict.letter != NOT:
            near.setdefault(verdict.why, []).append(verdict.active)
    return lines + [
        f"Not now, {', '.join(names)}: {why} ({UNVERIFIED_LABEL})." for why, names in near.items()
    ]


def limits(found: Sequence[Verdict], moment: Moment) -> list[str]:
    """Return the figures to check on the label for each active ingredient that the grass bears."""
    facts = [moment.rules.actives[one.active] for one in found if one.letter in {SAFE, CAUTION}]
    return [
        f"{row['words']}: {_rates(row)}{row['caution']}"
        + (f" ({UNVERIFIED_LABEL})" if row["how_read"] == "memory" else "")
        for row in facts
    ]


def _rates(row: Row) -> str:
    low, high = row["single_low_lb_per_acre"], row["single_high_lb_per_acre"]
    most = row["annual_max_lb_per_acre"]
    parts = []
    if high is not None:
        span = f"{low:g} to {high:g}" if low is not None and low != high else f"{high:g}"
        parts.append(f"{span} lb per acre")
    if most is not None:
        parts.append(f"at most {most:g} lb per acre a year")
    return f"{', '.join(parts)}. " if parts else ""
