"""Whether a tank may touch a patch of ground: what its grass bears, and what the client plans."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import chain
from typing import Any

from turfmap.days.answers import UNKNOWN
from turfmap.days.knowledge import Knowledge
from turfmap.days.products import Product
from turfmap.foundations.dates import day_words
from turfmap.foundations.definitions import table
from turfmap.season.answered import NOT_ASKED, Answer

SOWN = "overseeded_ryegrass"
UNVERIFIED = "unverified: confirm on the label"


@dataclass(frozen=True)
class Verdict:
    """Whether a load may touch a zone.

    Attributes
    ----------
    against
        Why it may not; empty if it may.
    cautions
        What must be minded if it may.
    asks
        Those of `against` behind which stands only that something is not known.
    """

    against: tuple[str, ...]
    cautions: tuple[str, ...]
    asks: tuple[str, ...] = ()


def bearing(
    product: Product,
    zone: Mapping[str, Any],
    answers: Mapping[str, Answer],
    day: date | None,
    known: Knowledge,
) -> Verdict:
    """Judge whether a product may touch a zone.

    Parameters
    ----------
    product
        What is in the tank.
    zone
        ``kind`` and ``species``.
    answers
        What the client said that counts on the day, by question.
    day
        The day of the load, if known.
    known
        The tables active_ingredient and tolerance.

    Notes
    -----
    A grass that is not known, or that the table tolerance does not know for an active ingredient,
    is never touched; nor is ground on which seed is planned before the wait is over.
    """
    if zone["kind"] != "turf":
        return Verdict((f"it is {zone['kind']}, not turf",), ())
    if not product.actives:
        return Verdict((), ())
    if not zone["species"]:
        return Verdict(("its grass is not known",), (), ("its grass is not known",))
    grasses = [zone["species"]]
    sown = answers.get("overseeding", UNKNOWN)
    if sown.answer == "done":
        grasses.append(SOWN)
    said = [
        _on_grass(active.name, grass, answers, known)
        for active in product.actives
        for grass in grasses
    ]
    said.append(_on_seed(product, sown, day, known))
    no, asks, cautions = (tuple(chain.from_iterable(parts)) for parts in zip(*said, strict=True))
    return Verdict((*no, *asks), cautions, asks)


# Why not, what is not known, and what to mind.
Said = tuple[list[str], list[str], list[str]]


def _on_grass(active: str, grass: str, answers: Mapping[str, Answer], known: Knowledge) -> Said:
    """Return why an active ingredient may not touch a grass, or what to mind where it may."""
    species = table("turf_species").by("species").get(grass)
    name = species["words"] if species else grass.replace("_", " ")
    row = known.verdicts.get((active, grass))
    if row is None:
        return [], [f"whether {name} bears {active} is not known: read the label"], []
    why = f" ({row['why']})" if row["why"] else ""
    mark = f"; {UNVERIFIED}" if row["how_read"] == "memory" else ""
    if row["verdict"] == "N":
        return [f"{active} is not for {name}{why}"], [], []
    dormant = answers.get("fully_dormant", UNKNOWN).answer
    if row["verdict"] == "D" and dormant != "yes":
        only = [f"{active} is for {name} only while fully dormant{why}, and that was not seen"]
        return ([], only, []) if dormant == NOT_ASKED else (only, [], [])
    care = f"{active} on {name}{why}"
    if row["verdict"] in {"C", "D"}:
        return [], [], [f"{care}: with caution, at a lower rate, only once established{mark}"]
    return [], [], [f"{care}{mark}"] if why else []


def _on_seed(product: Product, sown: Answer, day: date | None, known: Knowledge) -> Said:
    """Return what stands against a product where seed is planned, or nobody asked."""
    if sown.answer == NOT_ASKED:
        return [], [], ["nobody has asked about overseeding: ask before the tank is filled"]
    if sown.answer != "planned":
        return [], [], []
    waits = wait_wk(product, known)
    when = f"overseeding is planned{f', for {day_words(sown.day)}' if sown.day else ''}"
    if waits is None:
        return [], [f"{when}, and the wait before seed is not entered"], []
    if not waits or (day and sown.day and (sown.day - day).days >= 7 * waits):
        return [], [], []
    return [f"{when}, and {waits:g} weeks must lie between the load and the seed"], [], []


def wait_wk(product: Product, known: Knowledge) -> float | None:
    """Return the weeks to wait before seed: the label's, or the longest of its actives'.

    None where one of them is not known.
    """
    if product.row["reseed_wk"] is not None:
        return float(product.row["reseed_wk"])
    return _longest([known.actives[active.name]["reseed_wk"] for active in product.actives])


def _longest(waits: Sequence[float | None]) -> float | None:
    known = [wait for wait in waits if wait is not None]
    return max(known) if known and len(known) == len(waits) else None
