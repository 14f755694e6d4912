"""May a zone be treated here, now, with this? Go, wait or no, with every condition looked at.

The table ``treat_condition`` says which conditions there are and with what figures; each names a
small function by its ``basis``. What is not known is asked, and what is asked waits.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from turfmap.days import treat_figures, treat_records
from turfmap.days.conditions import GO, MIND, NO, WAIT, Case, Finding
from turfmap.foundations.definitions import Row, table

Basis = Callable[[Row, Case], Finding | None]

BASES: Mapping[str, Basis] = {
    "given_is_known": treat_figures.given_is_known,
    "product_in_book": treat_records.product_in_book,
    "way_fits": treat_records.way_fits,
    "product_confirmed": treat_records.product_confirmed,
    "ground_left": treat_records.ground_left,
    "water_surveyed": treat_records.water_surveyed,
    "drawn_as_told": treat_records.drawn_as_told,
    "state_known": treat_records.state_known,
    "bears": treat_records.bears,
    "bears_with_care": treat_records.bears_with_care,
    "year_sum": treat_records.year_sum,
    "retreat": treat_records.retreat,
    "season_holds": treat_records.season_holds,
    "at_most": treat_figures.at_most,
    "at_least": treat_figures.at_least,
    "not_finer": treat_figures.not_finer,
    "layered_air": treat_figures.layered_air,
    "answer_is": treat_records.answer_is,
    "between_days": treat_records.between_days,
    "entry_closed": treat_records.entry_closed,
    "school_notice": treat_records.school_notice,
    "exclusion_zone": treat_figures.exclusion_zone,
}

# The tables that conditions read.
READ = (
    "treat_condition",
    "spray_weather",
    "droplet",
    "exclusion_zone",
    "school_notice",
    "turf_species",
    "question",
    "hold",
    "task",
)


def tables(own: Mapping[str, Sequence[Row]]) -> dict[str, tuple[Row, ...]]:
    """Return the tables that conditions read, a user's own rows over the shipped ones."""
    return {name: table(name).overridden(own.get(name, ())).rows for name in READ}


def may_treat(case: Case) -> dict[str, Any]:
    """Judge whether a zone may be treated.

    Returns
    -------
    dict
        ``answer`` (go, wait or no), ``answer_words``, ``reasons`` (what stands against it; for go,
        what was looked at), ``would_change``, ``asked``, ``mind``, ``sources`` and ``conditions``
        (everything that was looked at).
    """
    found = findings(case)
    answer = answer_of(found)
    against = [one for one in found if one.answer in {NO, WAIT}]
    against.sort(key=lambda one: one.answer != NO)
    shown = against or [one for one in found if one.answer == GO]
    return {
        "answer": answer,
        "answer_words": answer.upper(),
        "reasons": _distinct(one.words for one in shown),
        "would_change": _distinct(one.would_change for one in against),
        "asked": _distinct(one.words for one in found if one.is_asked and one.answer == WAIT),
        "mind": _distinct(one.words for one in found if one.answer == MIND),
        "sources": _sources(against or found),
        "conditions": [one.as_plain() for one in found],
    }


def findings(case: Case) -> list[Finding]:
    """Return what every condition that applies finds, in the order of the table."""
    rows = [row for row in case.tables["treat_condition"] if _applies(row, case)]
    found = [BASES[row["basis"]](row, case) for row in rows]
    return [one for one in found if one is not None]


def answer_of(found: Sequence[Finding]) -> str:
    """Return the answer that findings make together: one no is no, one wait is wait."""
    answers = {one.answer for one in found}
    return next((answer for answer in (NO, WAIT) if answer in answers), GO)


def _applies(row: Row, case: Case) -> bool:
    """Tell whether a condition is for this work, product, place and turf; not known: it is."""
    uses = {use.strip() for use in (row["uses"] or "").split(";") if use.strip()}
    places = {place.strip().casefold() for place in case.states}
    actives = {one.name for one in case.product.actives}
    return (
        (row["work"] is None or row["work"] in case.works)
        and (not uses or bool(uses & case.uses))
        and (row["active_ingredient"] is None or row["active_ingredient"] in actives)
        and (row["place"] is None or not places or row["place"].casefold() in places)
        and row["turf_season"] in {None, case.turf_season or row["turf_season"]}
    )


def _distinct(words: Any) -> list[str]:
    return [one for one in dict.fromkeys(words) if one]


def _sources(found: Sequence[Finding]) -> list[str]:
    """Return the sources behind findings, in words, each with how it is known."""
    titles = {row["id"]: row["title"] for row in table("source").rows}
    said = []
    for one in found:
        plain = one.as_plain()
        for part in str(plain["source"]).split(";"):
            name = part.strip()
            if name == "own":
                said.append("Our own rules and definitions")
                continue
            title = titles.get(name, name)
            words = title if title == name else f"{name}: {title}"
            said.append(f"{words} ({plain['how_read']}; {plain['scope']})")
    return _distinct(said)
