"""The ways out where seed is planned and a pre-emergent may not go down, in their order."""

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from turfmap.foundations.dates import day_words
from turfmap.foundations.definitions import Row
from turfmap.season.actives import CAUTION, SAFE
from turfmap.season.book import wait_before_seed_wk
from turfmap.season.case import Moment
from turfmap.season.edge_words import UNVERIFIED_LABEL
from turfmap.season.judging import Judgement
from turfmap.season.rules import Rules

PRE_EMERGENT = "pre_emergent"
# What takes weeds that are up, by the task whose choices are offered.
INSTEAD = ("post_emergent_first_pass", "broadleaf_post_emergent")
NEAR = {"due", "ask", "held", "soon"}


def ways_out(found: Judgement, moment: Moment) -> list[str]:
    """Return what can be done instead of a pre-emergent on ground that is to be overseeded.

    First what takes weeds that are up, as those tasks stand themselves on this ground and day:
    what may be used with the last day on which it leaves the label's wait before the planned seed,
    or what holds it; then the seed; or seed and live with them.
    """
    answer = moment.answered("overseeding")
    if answer.answer != "planned" or not tells_ways_out(found.task, moment.rules):
        return []
    beside = [moment.beside[task] for task in INSTEAD if task in moment.beside]
    up = " ".join(f"{one.task['title']}: {_stands(one, answer.day, moment)}." for one in beside)
    seed = f" on {day_words(answer.day)}" if answer.day else ", on a day still to be named"
    return [
        "Instead, first: a post-emergent for what is up."
        f" {up or 'None is for this ground.'} ({UNVERIFIED_LABEL})",
        f"Then wait the label's interval, and overseed{seed}.",
        "Or overseed and live with the weeds.",
        "Once the ryegrass is up, no ALS inhibitor and nothing else that kills grass.",
    ]


def tells_ways_out(task: Row, rules: Rules) -> bool:
    """Return whether a task may tell of those in `INSTEAD`: only a pre-emergent does."""
    actives = (row["active_ingredient"] for row in rules.choices_of[task["task"]])
    return any(rules.actives[name]["use"] == PRE_EMERGENT for name in actives)


def _stands(other: Judgement, seed_on: date | None, moment: Moment) -> str:
    """Return how one of the other tasks stands: what may be used, or why nothing may."""
    if other.window is None:
        return "no calendar is known for this place"
    if other.state == "done":
        return "done already"
    if other.state not in NEAR:
        opens, closes = other.window.opens, other.window.closes
        is_past = closes < moment.as_of
        when = f"closed on {day_words(closes)}" if is_past else f"opens on {day_words(opens)}"
        return f"not now, its window {when}"
    if other.findings:
        said = "; ".join(finding.words.rstrip(".") for finding in other.findings)
        return f"not now, {said}"
    opens = max(other.window.opens, moment.as_of)
    waits = list(_waits(_usable(other, moment), seed_on, opens, moment))
    if not waits:
        return "nothing that this grass bears leaves its wait before this seed"
    when = "open now" if other.state == "due" else f"from {day_words(opens)}"
    return f"{when}, {'; '.join(waits)}"


def _usable(other: Judgement, moment: Moment) -> list[str]:
    return [
        verdict.active
        for verdict in other.verdicts
        if verdict.letter in {SAFE, CAUTION}
        and not verdict.why
        and moment.rules.actives[verdict.active]["use"] != PRE_EMERGENT
    ]


def _waits(
    names: Iterable[str], seed_on: date | None, opens: date, moment: Moment
) -> Iterator[str]:
    """Return active ingredients by the last day on which each leaves its wait before seed."""
    found: dict[float, list[str]] = {}
    for name in names:
        wait_wk = wait_before_seed_wk(moment.rules.actives[name], moment.rules).value
        if wait_wk is not None:
            found.setdefault(wait_wk, []).append(name)
    for wait_wk, mine in sorted(found.items()):
        if seed_on is None:
            yield f"{wait_wk:g} weeks before seed: {', '.join(mine)}"
        elif (last := seed_on - timedelta(weeks=wait_wk)) >= opens:
            yield f"until {day_words(last)}: {', '.join(mine)}"
