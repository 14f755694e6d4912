"""What blocks a task on a zone: one small function for each basis.

Each says what it does on every day asked about. Where a rule lacks what it needs it asks, never
nothing: unknown does not mean go.
"""

from collections.abc import Callable, Hashable, Mapping
from datetime import date, timedelta
from functools import partial

import numpy as np

from turfmap.foundations.dates import day_words, on_month_day
from turfmap.foundations.definitions import Row
from turfmap.season.answered import NOT_ASKED
from turfmap.season.before_seed import reseed_interval
from turfmap.season.case import NEVER, Case, Days, Flags, Moment
from turfmap.season.finding import Hold, Work, always, asking, either, plain_words, where
from turfmap.season.finding import with_detail as detailed
from turfmap.season.rules import BEFORE_SEED, listed
from turfmap.season.unwritten import unwritten
from turfmap.season.weather_holds import BASES as WEATHER_BASES
from turfmap.season.weather_holds import in_season

SOWING = "overseeding"
EVERY_VISIT = (BEFORE_SEED, "unwritten")  # bases that turn on what visits of any task put down

Basis = Callable[[Row, Work, Case], Hold]


def holds(work: Work, case: Case) -> list[Hold]:
    """Return every hold on a task that is ever in force, in the order of the table."""
    found = [
        case.horizon.once(_key(row, work, case), partial(_hold, row, work, case))
        for row in case.rules.holds_of[work.task]
        if _concerns(row, case)
    ]
    return [hold for hold in found if hold.is_ever]


def _hold(row: Row, work: Work, case: Case) -> Hold:
    hold = BASES[row["basis"]](row, work, case)
    if not row["only_open"]:
        return hold
    effects = np.where(work.is_open, hold.effects, 0).astype(np.int8)
    return Hold(row, effects, hold.held_words, hold.ask_words)


def _key(row: Row, work: Work, case: Case) -> Hashable:
    """Return what a hold depends on: by identity, as what is alike is one object."""
    question = row["question"]
    others = listed(row["other_tasks"])
    # An answer tells of a sowing as a visit does.
    asked = {question or "", *({SOWING} & set(others))}
    told = tuple(id(case.told.get(name, ())) for name in sorted(asked))
    if question == "overseeding":
        others = (*others, question)  # a sowing on record answers the question
    task = None
    if row["basis"] in EVERY_VISIT:
        task, others = work.task, tuple(case.visits)
    visits = tuple(id(case.visits.get(name, ())) for name in others)
    is_open = id(work.is_open) if row["only_open"] else None
    bearings = id(work.bearings) if row["basis"] == "species_not_tolerant" else None
    ground = case.ground
    facts = (ground.species, ground.bed_type, ground.irrigated, ground.soil, ground.cell)
    return ("hold", row["hold"], task, facts, told, visits, is_open, bearings)


def _concerns(row: Row, case: Case) -> bool:
    season, bed = case.turf_season, case.ground.bed_type
    if row["turf_season"] and season and season != row["turf_season"]:
        return False
    beds = listed(row["bed_types"])
    return not beds or bed is None or bed in beds


def answer_is(row: Row, _work: Work, case: Case) -> Hold:
    """Hold where a question has a certain answer."""
    standing = case.rules.questions[row["question"]]["standing"]

    def words(moment: Moment) -> str:
        found = moment.answered(row["question"])
        day = found.day if found.answer == row["answer"] else None
        said = f"Answered: {row['answer']}{f', {day_words(day)}' if day else ''}."
        if found.answered_on is None and found.answer in listed(standing):
            said += " Nobody wrote down when: give that row its answered_on, and later ones count."
        return said

    return where(row, case.answered(row["question"]).is_(row["answer"]), detailed(row, words))


def not_asked(row: Row, _work: Work, case: Case) -> Hold:
    """Ask where a question has no answer that still counts."""
    question = row["question"]
    answered = case.answered(question)

    def words(moment: Moment) -> str:
        old = answered.answers[answered.at[moment.place]].answer
        said = f"The last answer, {old}, is too old to count. " if old != NOT_ASKED else ""
        return f"{said}Ask: {case.rules.questions[question]['words']}"

    return asking(row, answered.is_(NOT_ASKED), detailed(row, words))


def species_unknown(row: Row, _work: Work, case: Case) -> Hold:
    """Ask where the grass is not known."""
    return asking(row, always(case, flag=case.turf_season is None))


def species_is(row: Row, _work: Work, case: Case) -> Hold:
    """Hold on certain grasses."""
    return where(row, always(case, flag=case.ground.species in listed(row["species"])))


def species_not_tolerant(row: Row, work: Work, case: Case) -> Hold:
    """Hold where the ground bears none of the active ingredients; ask where that is not known."""
    if case.turf_season is None:
        return where(row, always(case, flag=False))
    usable, borne, lacks = (
        np.any([getattr(each, name) for each in work.bearings], axis=0)
        for name in ("is_usable", "is_borne", "lacks")
    )
    # That nobody has asked holds every herbicide already.
    waits = case.answered("overseeding").is_(NOT_ASKED) & borne
    stands = ~usable & ~waits
    ask_words = f"{row['words']} For some it is not known: see the reasons."
    return either(row, stands & ~lacks, stands & lacks, plain_words(row), lambda _moment: ask_words)


def bed_type_unknown(row: Row, _work: Work, case: Case) -> Hold:
    """Ask where nobody said what grows in a bed."""
    return asking(row, always(case, flag=case.ground.bed_type is None))


def bed_type_is(row: Row, _work: Work, case: Case) -> Hold:
    """Hold in certain beds."""
    return where(row, always(case, flag=case.ground.bed_type in listed(row["bed_types"])))


def irrigation_unknown(row: Row, _work: Work, case: Case) -> Hold:
    """Ask where nobody said whether the zone can be watered."""
    return asking(row, always(case, flag=case.ground.irrigated is None))


def interval(row: Row, _work: Work, case: Case) -> Hold:
    """Hold for some days after another visit."""
    others = listed(row["other_tasks"])
    last = case.last_visit(others)
    lacks = always(case, flag=False)
    if SOWING in others:
        told, lacks = _told_sowing(case, int(row["days"]))
        last = np.maximum(last, told)

    def words(moment: Moment) -> str:
        done = date.fromordinal(int(last[moment.place]))
        until = done + timedelta(days=int(row["days"]))
        return f"Done {day_words(done)}; held until {day_words(until)}."

    ask = "It was sown, and the day is not known: ask for it."
    held = (last > NEVER) & (case.days - last <= row["days"])
    return either(row, held, lacks, detailed(row, words), detailed(row, lambda _moment: ask))


def _told_sowing(case: Case, wait_d: int) -> tuple[Days, Flags]:
    """Return the day of sowing that was told, 0 for none, and where one is told without a day."""
    answered = case.answered(SOWING)
    is_done = answered.is_("done")
    day, said_on = answered.sowing()
    is_past = is_done & (day > NEVER)
    recent = (said_on == NEVER) | (case.days - said_on <= wait_d)
    return np.where(is_past, day, NEVER), is_done & ~is_past & recent


def no_visit(row: Row, _work: Work, case: Case) -> Hold:
    """Ask where a visit that should have gone before is not recorded."""
    last = case.last_visit(listed(row["other_tasks"]))
    return where(row, (last == NEVER) | (case.days - last > row["days"]))


def season(row: Row, _work: Work, case: Case) -> Hold:
    """Hold between two days of the year."""

    def words(moment: Moment) -> str:
        until = on_month_day(moment.as_of.year, row["until"])
        if until < moment.as_of:
            until = on_month_day(moment.as_of.year + 1, row["until"])
        return f"Until {day_words(until)}."

    return where(row, in_season(row, case), detailed(row, words))


BASES: Mapping[str, Basis] = {
    "answer_is": answer_is,
    "not_asked": not_asked,
    "species_unknown": species_unknown,
    "species_is": species_is,
    "species_not_tolerant": species_not_tolerant,
    "bed_type_unknown": bed_type_unknown,
    "bed_type_is": bed_type_is,
    "irrigation_unknown": irrigation_unknown,
    "interval": interval,
    "no_visit": no_visit,
    BEFORE_SEED: reseed_interval,
    "unwritten": unwritten,
    "season": season,
    **WEATHER_BASES,
}
