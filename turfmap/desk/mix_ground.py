"""Which zones a load is for: those named, those of properties, or those with work due on a day."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from turfmap.days.knowledge import Knowledge
from turfmap.days.products import Product
from turfmap.desk.due import due
from turfmap.desk.place import with_property
from turfmap.foundations.definitions import table
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.store import geopackage

DUE, WAITING = "due", frozenset({"ask", "held"})
NAMES_TOLD = 10


@dataclass(frozen=True)
class Wanted:
    """Which ground the user names.

    Attributes
    ----------
    properties
        All of their zones.
    zones
        By name, identity or as ``property / zone``; looked for within `properties` if any is given.
    task
        Only where this task is due on the day.
    day
        The day of the load. With neither properties nor zones: wherever a task that the product
        serves is due on it.
    """

    properties: tuple[str, ...] = ()
    zones: tuple[str, ...] = ()
    task: str | None = None
    day: date | None = None


@dataclass(frozen=True)
class Chosen:
    """The zones of a load.

    Attributes
    ----------
    property_name
        The one property that they all lie in, or None.
    identities
        Ids of the zones.
    waiting
        Zones whose task something holds, as ``property, zone, why``.
    """

    property_name: str | None
    identities: frozenset[str]
    waiting: list[dict[str, Any]] = field(default_factory=list)


@dataclass(frozen=True)
class _Zone:
    of: str
    name: str
    identity: str

    @property
    def names(self) -> set[str]:
        """Every way in which a user may name it."""
        return {self.name, self.identity, f"{self.of} / {self.name}"}


def chosen_ground(path: Path, wanted: Wanted, product: Product, known: Knowledge) -> Chosen:
    """Return the zones that a load is for.

    Raises
    ------
    InputFaultsError
        If a name is not there or not of one zone, neither ground nor day is given, the day's work
        is asked for and none is due.
    """
    if not (wanted.properties or wanted.zones or wanted.day):
        raise input_fault(
            "neither --property nor --zone nor --on is given",
            "name the ground to be treated, or the day whose work is to be mixed for",
        )
    there = _zones(path)
    file = str(path)
    _check_properties(path, wanted.properties, there)
    near = [one for one in there if not wanted.properties or one.of in wanted.properties]
    if wanted.zones:
        near = _named(wanted.zones, near, file=file)
    waiting: list[dict[str, Any]] = []
    if wanted.task or not (wanted.properties or wanted.zones):
        near, waiting = _due(path, near, wanted, _served(wanted.task, product, known))
    return Chosen(_only_property(near), frozenset(one.identity for one in near), waiting)


def _zones(path: Path) -> list[_Zone]:
    frame = with_property(
        geopackage.read_layer(path, "zone"), geopackage.read_layer(path, "property")
    )
    columns = (frame[name] for name in ("property", "name", "id"))
    return [_Zone(*row) for row in zip(*columns, strict=True)]


def _only_property(zones: Collection[_Zone]) -> str | None:
    properties = {one.of for one in zones}
    return properties.pop() if len(properties) == 1 else None


def _check_properties(path: Path, names: Sequence[str], there: Sequence[_Zone]) -> None:
    known = {one.of for one in there} | set(geopackage.read_layer(path, "property")["name"])
    few = ", ".join(sorted(known)[:NAMES_TOLD]) or "none yet"
    faults = [
        Fault(str(path), "--property", f"there is no property {name!r}", f"choose one of {few}")
        for name in names
        if name not in known
    ]
    if faults:
        raise InputFaultsError(faults)


def _named(names: Sequence[str], there: Sequence[_Zone], *, file: str) -> list[_Zone]:
    chosen: dict[str, _Zone] = {}
    faults = []
    for name in names:
        found = [one for one in there if name in one.names]
        if len(found) != 1:
            faults.append(_not_one(name, len(found), there, file=file))
        chosen |= {one.identity: one for one in found}
    if faults:
        raise InputFaultsError(faults)
    return list(chosen.values())


def _not_one(wanted: str, count: int, there: Sequence[_Zone], *, file: str) -> Fault:
    names = sorted(f"{one.of} / {one.name}" for one in there)
    few = ", ".join(names[:NAMES_TOLD]) or "none yet"
    said = f"{count} zones are called {wanted!r}" if count else f"there is no zone {wanted!r}"
    return Fault(file, "--zone", said, f"choose one as PROPERTY / ZONE ({few})")


def _served(task: str | None, product: Product, known: Knowledge) -> set[str]:
    """Return the task that is named, or those that the product's active ingredients serve."""
    if task is not None:
        if task not in table("task").by("task"):
            mend = "choose one that turfmap layers task lists"
            raise input_fault(f"there is no task {task!r}", mend, record="--task")
        return {task}
    actives = {active.name for active in product.actives}
    served = {of for of, active in known.serving if active in actives}
    if not served:
        raise input_fault(
            f"which task {product.name} serves is not in the table choice",
            "name the task with --task, or the ground with --property or --zone",
        )
    return served


def _due(
    path: Path, near: Sequence[_Zone], wanted: Wanted, served: Collection[str]
) -> tuple[list[_Zone], list[dict[str, Any]]]:
    """Return those of some zones where a task is due on the day, and those where it must wait."""
    if wanted.day is None:
        raise input_fault("on which day is not given", "give it with --on", record="--task")
    judged = due(path, as_of=wanted.day, property_name=_only_property(near))["zones"]
    places = {(one.of, one.name): one for one in near}
    going, waiting = [], []
    for zone in judged:
        one = places.get((zone["property"], zone["zone"]))
        tasks = [task for task in zone["tasks"] if task["task"] in served]
        if one is None or not tasks:
            continue
        if any(task["state"] == DUE for task in tasks):
            going.append(one)
            continue
        why = [
            f"{task['title']}: {said}"
            for task in tasks
            if task["state"] in WAITING
            for said in (task["holds"] or task["reasons"])[:1]
        ]
        if why:
            waiting.append({"property": one.of, "zone": one.name, "why": why})
    if not going:
        titles = ", ".join(sorted(table("task").by("task")[task]["title"] for task in served))
        raise input_fault(
            f"nothing of this is due on the day asked for: {titles}"
            + (f" ({len(waiting)} zones wait for something)" if waiting else ""),
            "see turfmap due --as-of that day",
            record="--on",
        )
    return going, waiting
