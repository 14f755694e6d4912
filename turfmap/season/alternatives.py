"""The ways out where seed is planned and a pre-emergent may not go down, in their order."""

from datetime import date, timedelta

from turfmap.foundations.dates import day_words
from turfmap.season.case import Moment
from turfmap.season.edge_words import UNVERIFIED_LABEL
from turfmap.season.judging import Judgement

PRE_EMERGENT = "pre_emergent"
BORNE = {"S", "C"}
# What takes weeds that are up, by the task whose choices are offered.
INSTEAD = ("post_emergent_first_pass", "broadleaf_post_emergent")


def ways_out(found: Judgement, moment: Moment) -> list[str]:
    """Return what can be done instead of a pre-emergent on ground that is to be overseeded.

    First what the grass bears that takes weeds which are up, each with the last day on which it
    leaves the label's wait before the planned seed; then the seed; or seed and live with them.
    """
    answer = moment.answered("overseeding")
    if answer.answer != "planned" or not _is_pre_emergent(found, moment):
        return []
    waits = _waits(_borne(moment), answer.day, moment)
    up = "; ".join(f"{words}: {', '.join(names)}" for words, names in waits.items())
    seed = f" on {day_words(answer.day)}" if answer.day else ", on a day still to be named"
    return [
        f"Instead, first: a post-emergent for what is up ({up or 'none is known to be borne'})"
        f" ({UNVERIFIED_LABEL}).",
        f"Then wait the label's interval, and overseed{seed}.",
        "Or overseed and live with the weeds.",
        "Once the ryegrass is up, no ALS inhibitor and nothing else that kills grass.",
    ]


def _is_pre_emergent(found: Judgement, moment: Moment) -> bool:
    actives = (row["active_ingredient"] for row in moment.rules.choices_of[found.task["task"]])
    return any(moment.rules.actives[name]["use"] == PRE_EMERGENT for name in actives)


def _borne(moment: Moment) -> list[str]:
    rules = moment.rules
    names = [row["active_ingredient"] for task in INSTEAD for row in rules.choices_of.get(task, [])]
    found = [
        (name, rules.verdicts.get((name, moment.ground.species or "")))
        for name in dict.fromkeys(names)
        if rules.actives[name]["use"] != PRE_EMERGENT
    ]
    return [name for name, row in found if row is not None and row["verdict"] in BORNE]


def _waits(names: list[str], seed_on: date | None, moment: Moment) -> dict[str, list[str]]:
    """Return active ingredients by the last day on which each leaves its wait before seed."""
    found: dict[str, list[str]] = {}
    for name in sorted(names, key=lambda each: moment.rules.actives[each]["reseed_wk"] or 0.0):
        wait_wk = moment.rules.actives[name]["reseed_wk"]
        found.setdefault(_wait_words(wait_wk, seed_on, moment.as_of), []).append(name)
    return found


def _wait_words(wait_wk: float | None, seed_on: date | None, as_of: date) -> str:
    if wait_wk is None:
        return "wait before seed not known"
    if seed_on is None:
        return f"{wait_wk:g} weeks before seed"
    last = seed_on - timedelta(weeks=float(wait_wk))
    return f"until {day_words(last)}" if last >= as_of else "too late before this seed"
