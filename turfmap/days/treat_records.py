"""Conditions on what is on record: product, ground, answers, visits, season, schools."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime, time, timedelta

from turfmap.days.bearing import bearing
from turfmap.days.conditions import SPREADER, Case, Finding, asked, met, not_met
from turfmap.days.label_rates import rate_for
from turfmap.days.limits import Applied
from turfmap.days.record import applied_on
from turfmap.days.survey import survey_counts
from turfmap.days.treat_figures import time_words
from turfmap.days.zone_loads import ASK_AMOUNT, active_sums, broken, off_label, too_soon
from turfmap.foundations.dates import day_words, month_day
from turfmap.foundations.definitions import Row
from turfmap.foundations.units import area_words
from turfmap.season.answered import NOT_ASKED

# A square foot: less of it is what rounding leaves.
LEAST_M2 = 0.09290304
STATE_LETTERS = 2
# Months in which clocks are put forward, north and south of the equator.
CLOCK_MONTHS, SUNDAY = frozenset({3, 9, 10}), 6
LONGEST_NOTICE_H = 366 * 24.0


def product_in_book(row: Row, case: Case) -> Finding:
    """Ask for the product where only an active ingredient is named."""
    return met(row, case) if case.in_book else asked(row, case)


def way_fits(row: Row, case: Case) -> Finding | None:
    """Judge whether a product may go out that way: a liquid from a spreader escapes every rule."""
    formulation, method = case.product.formulation, case.conditions.method
    if method is None:
        return None
    if formulation is None and method == SPREADER and not case.product.is_liquid:
        return asked(row, case)
    is_granular = formulation is not None and formulation["applied"] == "spread"
    if is_granular == (method == SPREADER):
        return met(row, case)
    what = formulation["words"] if formulation is not None else "a liquid"
    return not_met(row, case, given=f"{case.product.name} is {what}, and it goes out by {method}")


def product_confirmed(row: Row, case: Case) -> Finding:
    """Ask for the label where nobody has held the product against it by the day."""
    confirmed_on: date | None = case.product.row["confirmed_on"]
    day = case.conditions.day
    if confirmed_on is None or (day is not None and confirmed_on > day):
        return asked(row, case)
    return met(row, case, given=day_words(confirmed_on))


def ground_left(row: Row, case: Case) -> Finding:
    """Judge whether any ground may be treated."""
    left_m2 = case.zone["treatable_m2"]
    if left_m2 >= LEAST_M2:
        return met(row, case, given=area_words(left_m2))
    few = f"{case.zone['lost_words']}; less than a square foot is left"
    return not_met(row, case, given=few if left_m2 > 0.0 else case.zone["lost_words"])


def water_surveyed(row: Row, case: Case) -> Finding:
    """Ask where nobody has looked for what is protected by the day, or not for too long."""
    looked_on, day = case.surveyed_on, case.conditions.day
    if looked_on is None or (day is not None and looked_on > day):
        return asked(row, case, given="Not surveyed")
    if day is None or survey_counts(looked_on, day, lasts_d=row["value"]):
        return met(row, case, given=day_words(looked_on))
    age = f"more than {row['value']:g} days before"
    return asked(row, case, given=f"Surveyed on {day_words(looked_on)}, {age}")


def state_known(row: Row, case: Case) -> Finding:
    """Ask for the state, whose rules hold; rules are found by its two letters and nothing else."""
    if not case.states:
        return asked(row, case, given="The property has no state")
    state = case.states[0].strip()
    if len(state) != STATE_LETTERS or not state.isalpha():
        return asked(row, case, given=f"The state {state[:40]!r} is not written as two letters")
    return met(row, case, given=", ".join(case.states))


def drawn_as_told(row: Row, case: Case) -> Finding | None:
    """Judge whether what a client told of is on the map."""
    if case.answered(row["question"]) != row["answer"]:
        return None
    wanted = {kind.strip() for kind in row["drawn"].split(";")}
    return met(row, case) if wanted & set(case.zone["drawn"]) else not_met(row, case)


def bears(row: Row, case: Case) -> Finding:
    """Judge whether the ground bears the product, and seed that is planned on it."""
    book, day = case.book, case.conditions.day
    verdict = bearing(case.product, case.zone, case.answers, day, book.known)
    against = [words for words in verdict.against if words not in verdict.asks]
    if against:
        return not_met(row, case, given=_sentence(against))
    asks = list(verdict.asks)
    if case.product.actives and case.answered("overseeding") == NOT_ASKED:
        asks.append("nobody has asked whether this ground is to be overseeded")
    return asked(row, case, given=_sentence(asks)) if asks else met(row, case)


def bears_with_care(row: Row, case: Case) -> Finding | None:
    """Tell what is to be minded on this grass."""
    verdict = bearing(case.product, case.zone, case.answers, case.conditions.day, case.book.known)
    return not_met(row, case, given=_sentence(verdict.cautions)) if verdict.cautions else None


def _sentence(parts: Sequence[str]) -> str:
    words = "; ".join(dict.fromkeys(parts))
    return words[:1].upper() + words[1:]


def _applied(case: Case) -> dict[str, list[Applied]]:
    """Return what was put on the zone by the day, by active ingredient of the product."""
    book, day = case.book, case.conditions.day
    visits = [visit for visit in book.visits if day is None or visit["date"] <= day]
    return {
        active.name: applied_on(case.zone, active.name, visits, book.products, book.known)
        for active in case.product.actives
    }


def year_sum(row: Row, case: Case) -> Finding:
    """Judge the limits at once and of the year at the label's usual rate."""
    product, book = case.product, case.book
    applied = _applied(case)
    rates = [one for one in book.rates if one["product"] == product.name]
    label = rate_for(product, rates, species=case.zone["species"], target=None)
    per_area = None if label is None else product.product_for(label.rate)
    if label is None or per_area is None:
        return _without_rate(row, case, applied, has_rates=bool(rates))
    sums = active_sums(product, per_area, applied, case.conditions.day, book.known)
    problems = [*off_label(product, label.rate, label.high), *broken(sums)]
    over = [problem for problem, mend in problems if mend != ASK_AMOUNT]
    if over:
        return not_met(row, case, given=_sentence(over))
    unknown = [problem for problem, mend in problems if mend == ASK_AMOUNT]
    unknown += [
        f"how much {one.active} the product holds is not entered, and its limits are"
        for one in sums
        if one.load_lb_per_acre is None and (applied[one.active] or one.single or one.annual)
    ]
    return asked(row, case, given=_sentence(unknown)) if unknown else met(row, case)


def _without_rate(
    row: Row, case: Case, applied: Mapping[str, Sequence[Applied]], *, has_rates: bool
) -> Finding:
    """Without a rate no limit can be told; of rates by target, only once some is on record."""
    on_record = [name for name, done in applied.items() if done]
    if not on_record and (has_rates or not applied):
        return met(row, case)
    if not on_record:
        return asked(row, case, given="No rate is entered: whether limits are kept is not known")
    named = ", ".join(on_record)
    return asked(
        row, case, given=f"No rate is entered, and {named} is on record here: the sum is not known"
    )


def retreat(row: Row, case: Case) -> Finding:
    """Judge the time since the last application of the same active ingredients."""
    product, book, day = case.product, case.book, case.conditions.day
    applied = _applied(case)
    soon = too_soon(product, applied, day, book.known)
    if soon:
        return not_met(row, case, given=_sentence([problem for problem, _ in soon]))
    recent = [
        f"{name} was put down on {day_words(one.day)}, and how many days must lie between is not"
        " entered"
        for name, done in applied.items()
        for one in done
        if day is not None
        and (day - one.day).days < row["value"]
        and product.row["retreat_d"] is None
        and book.known.actives[name]["retreat_d"] is None
    ]
    return asked(row, case, given=_sentence(recent)) if recent else met(row, case)


def season_holds(row: Row, case: Case) -> Finding:
    """Judge what the season's rules hold against the work that the product serves."""
    held = [one.words for one in case.season if not one.is_asked]
    asks = [one.words for one in case.season if one.is_asked]
    if held:
        return not_met(row, case, given=" ".join(held))
    return asked(row, case, given=" ".join(asks)) if asks else met(row, case)


def answer_is(row: Row, case: Case) -> Finding:
    """Judge by what was answered on the day."""
    said = case.answered(row["question"])
    if said == NOT_ASKED:
        question = case.row("question", "question", row["question"])
        return asked(row, case, given=question["words"] if question else row["question"])
    return not_met(row, case) if said == row["answer"] else met(row, case)


def between_days(row: Row, case: Case) -> Finding | None:
    """Judge by the day of the year."""
    day = case.conditions.day
    hold = case.row("hold", "hold", row["hold"]) or row
    if day is None or hold["from"] is None:
        return None
    first, last = month_day(hold["from"]), month_day(hold["until"])
    now = (day.month, day.day)
    is_between = first <= now <= last if first <= last else now >= first or now <= last
    if not is_between:
        return met(row, case)
    words = f"{_month_day_words(first)} to {_month_day_words(last)}"
    if row["turf_season"] and case.turf_season is None:
        return asked(row, case, given=words)
    return not_met(row, case, given=words)


def _month_day_words(found: tuple[int, int]) -> str:
    return f"{date(2001, *found):%-d %b}"


def entry_closed(row: Row, case: Case) -> Finding | None:
    """Judge whether an earlier treatment still keeps people off the ground."""
    on = case.conditions.on
    if on is None:
        return None
    closed, unknown = [], []
    for visit in case.book.visits:
        is_here = visit["zone"] in {None, "", case.zone["name"]}
        if not is_here or not _may_close(visit, case) or visit["date"] > on.date():
            continue
        product = case.book.products.get(visit["product"])
        hours = None if product is None else product.row["reentry_h"]
        what = visit["product"] or f"{visit['task'].replace('_', ' ')}, product not known,"
        words = f"{what} on {day_words(visit['date'])}"
        if hours is None:
            if (on.date() - visit["date"]).days < 2:  # the longest usual time is 48 hours
                unknown.append(words)
            continue
        over = _end_of(visit) + timedelta(hours=hours)
        over += _clock_change(_end_of(visit), over)
        if on.replace(tzinfo=None) < over:
            closed.append(f"{words}, until {time_words(over)}")
    if closed:
        return not_met(row, case, given="; ".join(closed))
    return asked(row, case, given="; ".join(unknown)) if unknown else met(row, case)


def _may_close(visit: Row, case: Case) -> bool:
    """Tell whether a visit may keep people off: it names a product, or its task may hold one."""
    task = case.row("task", "task", visit["task"])
    return bool(visit["product"]) or (task is not None and task["may_hold_actives"] is not False)


def _end_of(visit: Row) -> datetime:
    """Return when a visit ended; where nobody wrote it down, the end of its day."""
    start, end = _clock(visit.get("start_time")), _clock(visit.get("end_time"))
    ended = datetime.combine(visit["date"], end or time(23, 59))
    is_past_midnight = start is not None and end is not None and end < start
    return ended + timedelta(days=1) if is_past_midnight else ended


def _clock(text: str | None) -> time | None:
    try:
        return time.fromisoformat(text) if text else None
    except ValueError:
        return None


def _clock_change(first: datetime, last: datetime) -> timedelta:
    """Return the hour that clocks may skip between two times: on some Sunday of these months.

    Which Sunday it is differs by country; none is told of here, so each may be it.
    """
    days = (first.date() + timedelta(days=n) for n in range((last.date() - first.date()).days + 1))
    may_skip = any(day.month in CLOCK_MONTHS and day.weekday() == SUNDAY for day in days)
    return timedelta(hours=may_skip)


def school_notice(row: Row, case: Case) -> Finding | None:
    """Judge whether a school was told in time, on school ground."""
    if case.zone["school"] != "on":
        return None
    on, told = case.conditions.on, case.conditions.school_notice_on
    rules = [
        rule
        for place in case.states
        if (rule := case.row("school_notice", "place", place.strip().upper())) is not None
    ]
    if told is None or on is None:
        ways = [
            f"{rule['notice_h']:g} h of notice ({rule['rule']}: {rule['scope']})" for rule in rules
        ]
        words = "; ".join(ways) or "no rule of this state is known; ask the school and the state"
        return asked(row, case, given=f"was the school told? {words}")
    early_h = (on.replace(tzinfo=None) - told.replace(tzinfo=None)) / timedelta(hours=1)
    if early_h > LONGEST_NOTICE_H:
        return asked(row, case, given="notice was given over a year before: was it of this work?")
    late = [rule for rule in rules if early_h < rule["notice_h"]]
    if early_h < 0.0 or late:
        wanted = "; ".join(f"{rule['notice_h']:g} h ({rule['rule']})" for rule in late)
        return not_met(row, case, given=f"notice was given {early_h:g} h before; wanted {wanted}")
    rule_words = "" if rules else "; no rule of this state is known, ask the school"
    return met(row, case, given=f"The school was told {early_h:g} h before{rule_words}.")
