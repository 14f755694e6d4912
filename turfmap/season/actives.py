"""Which active ingredients a zone bears for a task, and what must be said of each."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import product

from turfmap.foundations.definitions import Row
from turfmap.season.case import NOT_ASKED, Case

UNVERIFIED = "unverified: confirm on the label"
SOWN = "overseeded_ryegrass"
SAFE, CAUTION, DORMANT, NOT = "S", "C", "D", "N"
UNKNOWN = "?"
# From what may be used to what may not, and how each is said of a grass.
_SAID = {
    SAFE: "Borne by {grass} when labelled",
    CAUTION: "With caution on {grass}, at a lower rate and only once established",
    DORMANT: "Only on fully dormant {grass}",
    NOT: "Not on {grass}",
    UNKNOWN: "Not known for {grass}, read the label",
}


@dataclass(frozen=True)
class Verdict:
    """What a zone bears of one active ingredient.

    Attributes
    ----------
    verdict
        S, C, D or N as in the table tolerance, or ``?`` where it has no row.
    why
        What speaks against it today, in words; empty if nothing does.
    lacks
        Whether it is only for want of knowledge that it may not be used.
    rows
        The rows it rests on.
    """

    active: str
    verdict: str
    why: str
    lacks: bool
    rows: tuple[Row, ...]

    @property
    def is_borne(self) -> bool:
        """Whether the grass bears it, seed or no seed."""
        return self.verdict in {SAFE, CAUTION}

    @property
    def is_usable(self) -> bool:
        """Whether nothing known speaks against it."""
        return self.is_borne and not self.why

    @property
    def is_from_memory(self) -> bool:
        """Whether a figure that it rests on was not read in print."""
        return any(row["how_read"] == "memory" for row in self.rows)


@lru_cache(maxsize=64)
def verdicts(task: str, case: Case) -> tuple[Verdict, ...]:
    """Return what the zone bears of each active ingredient that serves a task."""
    return tuple(_verdict(row, case) for row in case.rules.choices_of[task])


def _verdict(choice: Row, case: Case) -> Verdict:
    active = choice["active_ingredient"]
    grasses = [case.ground.species or ""]
    if case.answered("overseeding") == "done":
        grasses.append(SOWN)
    found = [case.rules.verdicts.get((active, grass)) for grass in grasses]
    known = [row for row in found if row is not None]
    letters = [row["verdict"] for row in known] + [UNKNOWN] * (len(found) - len(known))
    worst = max(letters, key=[SAFE, CAUTION, DORMANT, UNKNOWN, NOT].index)
    if worst == DORMANT and case.answered("fully_dormant") == "yes":
        worst = CAUTION
    facts = case.rules.actives[active]
    why, is_known = against_seed(facts, case)
    lacks = worst == UNKNOWN or (worst in {SAFE, CAUTION} and not is_known)
    return Verdict(active, worst, why, lacks, (choice, *known))


def against_seed(facts: Row, case: Case) -> tuple[str, bool]:
    """Return why an active ingredient may harm sown grass, and whether that is known.

    Empty where it does not.
    """
    answer = case.answered("overseeding")
    if answer == NOT_ASKED:
        harm = "harm to sown ryegrass" if facts["kills_grass"] else "a wait before seed"
        return f"{harm}, and nobody has asked about overseeding", False
    if answer != "planned":
        return "", True
    day = case.answers["overseeding"].day
    wait_wk = facts["reseed_wk"]
    if wait_wk is None:
        return "the wait before seed is not known", False
    if day is None:
        return f"wait {wait_wk:g} weeks before seed, and the day of sowing is not known", False
    left_d = (day - case.as_of).days
    if left_d >= wait_wk * 7:
        return "", True
    return f"wait {wait_wk:g} weeks before seed, {_left(left_d)}", True


def _left(days: int) -> str:
    return f"{days} days are left" if days >= 0 else "the planned day is past"


def said(found: Sequence[Verdict], grass: str) -> list[str]:
    """Return one line for each sort of verdict: what the grass bears and what it does not."""
    lines = []
    for (letter, words), is_memory in product(_SAID.items(), (False, True)):
        names = [
            verdict.active
            for verdict in found
            if verdict.verdict == letter
            and verdict.is_from_memory == is_memory
            and (letter == NOT or not verdict.why)
        ]
        if names:
            mark = f" ({UNVERIFIED})" if is_memory else ""
            lines.append(f"{words.format(grass=grass)}: {', '.join(names)}{mark}.")
    near: dict[str, list[str]] = {}
    for verdict in found:
        if verdict.why and verdict.verdict != NOT:
            near.setdefault(verdict.why, []).append(verdict.active)
    return lines + [
        f"Not now, {', '.join(names)}: {why} ({UNVERIFIED})." for why, names in near.items()
    ]


def limits(found: Sequence[Verdict], case: Case) -> list[str]:
    """Return the figures to check on the label for each active ingredient that may be used."""
    facts = [case.rules.actives[verdict.active] for verdict in found if verdict.is_usable]
    return [
        f"{row['words']}: {_rates(row)}{row['caution']}"
        + (f" ({UNVERIFIED})" if row["how_read"] == "memory" else "")
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
