"""Which active ingredients a zone bears for a task, and what must be said of each."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from turfmap.foundations.definitions import Row
from turfmap.season.case import Case

UNVERIFIED = "unverified: confirm on the label"
SOWN = "overseeded_ryegrass"
SAFE, CAUTION, DORMANT, NOT = "S", "C", "D", "N"
UNKNOWN = "?"
# From what may be used to what may not, and how each is said of a grass.
_SAID = {
    SAFE: "borne by {grass} when labelled",
    CAUTION: "with caution on {grass}, at a lower rate and only once established",
    DORMANT: "only on fully dormant {grass}",
    NOT: "not on {grass}",
    UNKNOWN: "not known for {grass}: read the label",
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
    rows
        The rows it rests on.
    """

    active: str
    verdict: str
    why: str
    rows: tuple[Row, ...]

    @property
    def is_usable(self) -> bool:
        """Whether nothing known speaks against it."""
        return self.verdict in {SAFE, CAUTION} and not self.why

    @property
    def is_from_memory(self) -> bool:
        """Whether a figure that it rests on was not read in print."""
        return any(row["how_read"] == "memory" for row in self.rows)


def verdicts(task: str, case: Case) -> list[Verdict]:
    """Return what the zone bears of each active ingredient that serves a task."""
    return [_verdict(row, case) for row in case.rules.choices_of[task]]


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
    return Verdict(active, worst, seed_wait(facts, case), (choice, *known))


def seed_wait(facts: Row, case: Case) -> str:
    """Return why an active ingredient comes too near to planned seed; empty if it does not."""
    if case.answered("overseeding") != "planned":
        return ""
    day = case.answers["overseeding"].day
    wait_wk = facts["reseed_wk"]
    if wait_wk is None:
        return "the wait before seed is not known"
    if day is None:
        return f"wait {wait_wk:g} weeks before seed, and the day of sowing is not known"
    left_d = (day - case.as_of).days
    return "" if left_d >= wait_wk * 7 else f"wait {wait_wk:g} weeks before seed, {_left(left_d)}"


def _left(days: int) -> str:
    return f"{days} days are left" if days >= 0 else "the planned day is past"


def said(found: Sequence[Verdict], grass: str) -> list[str]:
    """Return one line for each sort of verdict: what the grass bears and what it does not."""
    lines = []
    for letter, words in _SAID.items():
        for memory in (False, True):
            names = [
                verdict.active
                for verdict in found
                if verdict.verdict == letter
                and not verdict.why
                and verdict.is_from_memory == memory
            ]
            if names:
                mark = f" ({UNVERIFIED})" if memory else ""
                lines.append(f"{', '.join(names)}: {words.format(grass=grass)}{mark}.")
    lines += [f"{v.active}: {v.why} ({UNVERIFIED})." for v in found if v.why and v.verdict != NOT]
    return lines


def day_of_sowing(case: Case) -> date | None:
    """Return the day of sowing that the client planned or reported."""
    answer = case.answers.get("overseeding")
    return None if answer is None else answer.day
