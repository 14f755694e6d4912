"""The crew page: one file for a phone, of one property or of a day's several."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

from turfmap.desk.protected import Overrides
from turfmap.desk.visit_plan import PlanAsked, visit_plan
from turfmap.foundations.dates import day_words
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.store import geopackage
from turfmap.store.written_files import HTML_MARK, write_whole
from turfmap.views.crew_page import crew_page
from turfmap.views.visit_plan import VisitPlan


def crew_file(
    path: Path,
    properties: Sequence[str],
    asked: PlanAsked,
    *,
    out: Path,
    overrides: Overrides,
) -> dict[str, Any]:
    """Write the crew page of properties as one HTML file.

    Returns
    -------
    dict
        ``out``, ``bytes``, and for each of ``properties`` its ``property``, its ``zones`` (zone,
        answer, reasons) and its ``cautions``.

    Raises
    ------
    InputFaultsError
        With what is wrong at each property; nothing has been written.
    """
    plans = visit_plans(path, properties, asked, overrides=overrides)
    page = crew_page(plans, title=title_of(plans))
    write_whole(out, page, mark=HTML_MARK, endings=(".html",))
    return {"out": str(out), "bytes": len(page.encode("utf-8")), **told(plans)}


def visit_plans(
    path: Path, properties: Sequence[str], asked: PlanAsked, *, overrides: Overrides
) -> list[VisitPlan]:
    """Return the plans of several properties.

    Raises
    ------
    InputFaultsError
        With the faults of all of them, each once.
    """
    plans: list[VisitPlan] = []
    faults: dict[Fault, None] = {}
    for name in dict.fromkeys(properties or _only_property(path)):
        try:
            plans.append(visit_plan(path, name, asked, overrides=overrides))
        except InputFaultsError as error:
            faults |= dict.fromkeys(error.faults)
    if faults:
        raise InputFaultsError(faults)
    return plans


def _only_property(path: Path) -> list[str]:
    names = [str(name) for name in geopackage.read_layer(path, "property")["name"]]
    if len(names) != 1:
        few = ", ".join(sorted(names)[:10]) or "none yet"
        raise input_fault("none is given", f"choose one or more ({few})", record="--property")
    return names


def title_of(plans: Sequence[VisitPlan]) -> str:
    """Return what the plans of a day are called."""
    first = plans[0]
    of = first.property if len(plans) == 1 else f"{len(plans):,} properties"
    return f"{of}, {day_words(date.fromisoformat(first.on[:10]))}"


def told(plans: Sequence[VisitPlan]) -> dict[str, Any]:
    """Return what a person who made a page or a sheet must see at once."""
    return {
        "properties": [
            {
                "property": plan.property,
                "zones": [
                    {"zone": zone.name, "answer": zone.answer, "reasons": list(zone.reasons)}
                    for zone in plan.zones
                ],
                "load_faults": list(plan.load_faults),
                "cautions": list(plan.cautions),
            }
            for plan in plans
        ]
    }
