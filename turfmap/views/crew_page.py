"""The crew page: one file for a phone that tells, without a network, where not to spray."""

import tomllib
from collections.abc import Mapping, Sequence
from functools import lru_cache
from importlib.resources import files
from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from turfmap.foundations.definitions import table
from turfmap.views import assets
from turfmap.views.offline_page import escaped, json_block, standing_alone
from turfmap.views.visit_plan import STANDING_CAUTIONS, PlanNoSpray, PlanThing, PlanZone, VisitPlan

LANGUAGES = ("en", "es")
MILLIMETRES = 1_000.0

_SHARED_SCRIPTS = ("words.js", "data.js", "paint.js")
_SCRIPTS = (
    "texts.js",
    "plane.js",
    "measure.js",
    "verdict.js",
    "plan.js",
    "readout.js",
    "position.js",
    "lists.js",
    "visit_form.js",
    "start.js",
)
_POINT, _LINE, _RING = 0, 1, 2


def crew_page(plans: Sequence[VisitPlan], *, title: str) -> str:
    """Return the page for the crew as one HTML file that fetches nothing.

    The same plans give the same page, to the byte.

    Parameters
    ----------
    plans
        One property each, in the order of the day. Their text may hold anything: it is shown and
        never run.
    title
        What the page is called in a browser's tab.

    Raises
    ------
    ValueError
        If there is no plan.
    """
    if not plans:
        raise ValueError("a crew page without a property")
    scripts = [*_SHARED_SCRIPTS, *(f"crew/{name}" for name in _SCRIPTS)]
    data = {
        "words": {language: words(language) for language in LANGUAGES},
        "tasks": {row["task"]: row["title"] for row in table("task").rows},
        "units": [row["amount_unit"] for row in table("amount_unit").rows],
        "places": [_place(plan) for plan in plans],
    }
    parts = {
        "title": escaped(title),
        "style": f"<style>\n{assets.own_page('crew/crew.css')}</style>",
        "body": assets.own_page("crew/body.html"),
        "data": json_block("map-data", data),
        "scripts": "\n".join(f"<script>\n{assets.own_page(file)}</script>" for file in scripts),
    }
    return standing_alone(assets.own_page("crew/frame.html"), parts)


@lru_cache(maxsize=4)
def words(language: str) -> dict[str, Any]:
    """Return what the page says in one language: texts by name, kinds, standing cautions."""
    text = (files("turfmap.views") / "words" / f"crew_{language}.toml").read_text(encoding="utf-8")
    found = tomllib.loads(text)
    if language == "en":
        found |= {"kinds": _english_kinds(), "cautions": list(STANDING_CAUTIONS)}
    return found


def _english_kinds() -> dict[str, str]:
    tables = ("obstacle_kind", "zone_kind", "water_kind", "sensitive_kind")
    return {
        row["kind"]: row["words"][0].upper() + row["words"][1:]
        for name in tables
        for row in table(name).rows
    }


def parts_in_millimetres(shape: BaseGeometry) -> list[tuple[int, list[int]]]:
    """Return points, lines and rings as steps from corner to corner.

    Parameters
    ----------
    shape
        On a plane [m].

    Returns
    -------
    list of (kind, steps)
        Kind 0 a point, 1 a line, 2 a ring without its closing corner; steps east and north in
        turn [mm], the first from the origin of the plane. Rings are filled by the even-odd rule.
    """
    return [
        (kind, _steps(shapely.get_coordinates(line)[: -1 if kind == _RING else None]))
        for kind, line in _lines_of(shape)
    ]


def _lines_of(shape: BaseGeometry) -> list[tuple[int, BaseGeometry]]:
    found: list[tuple[int, BaseGeometry]] = []
    parts = shapely.get_parts(shape)
    while (shapely.get_type_id(parts) > shapely.GeometryType.POLYGON).any():
        parts = shapely.get_parts(parts)
    for part in parts[~shapely.is_empty(parts)]:
        if part.geom_type == "Polygon":
            found += [(_RING, ring) for ring in shapely.get_rings(part)]
        else:
            found.append((_POINT if part.geom_type == "Point" else _LINE, part))
    return found


def _steps(corners: Any) -> list[int]:
    whole = np.rint(corners * MILLIMETRES).astype(np.int64)
    steps: list[int] = np.diff(whole, axis=0, prepend=np.zeros((1, 2), np.int64)).ravel().tolist()
    return steps


def _place(plan: VisitPlan) -> dict[str, Any]:
    facts = ("property", "client", "address", "on", "product", "surveyed_on", "weather", "task")
    keep_off = shapely.union_all([one.geometry for one in plan.no_spray])
    return {
        **{name: getattr(plan, name) for name in facts},
        "origin": list(plan.origin),
        "zones": [
            _zone(zone, place) for zone, place in zip(plan.zones, plan.label_places(), strict=True)
        ],
        "keep_off": parts_in_millimetres(keep_off),
        "causes": [_cause(one) for one in plan.no_spray],
        "things": [_thing(one) for one in plan.things],
        "load": None if plan.load is None else _load(plan.load),
        "load_faults": list(plan.load_faults),
        "label": dict(plan.label),
        "tasks": list(plan.tasks),
        "posting": list(plan.posting),
        "cautions": list(plan.cautions),
    }


def _zone(zone: PlanZone, label_place: BaseGeometry) -> dict[str, Any]:
    return {
        "name": zone.name,
        "kind": zone.kind,
        "species": zone.species_words,
        "answer": zone.answer,
        "reasons": list(zone.reasons),
        "changes": list(zone.changes),
        "minds": list(zone.minds),
        "sources": list(zone.sources),
        "rank": zone.rank,
        "amount": zone.amount,
        "treatable_m2": round(float(zone.area["treatable_m2"]), 2),
        "label": _label(label_place),
        "parts": parts_in_millimetres(zone.geometry),
    }


def _label(place: BaseGeometry) -> list[float]:
    """Return where its name stands [m]; nothing if there is no ground."""
    corners = shapely.get_coordinates(place)
    return [round(float(at), 2) for at in corners[:1].ravel()]


def _cause(one: PlanNoSpray) -> dict[str, Any]:
    return {
        "category": one.category,
        "name": one.name,
        "distance_m": one.distance_m,
        "margin_m": one.margin_m,
        "downwind_only": one.downwind_only,
        "parts": parts_in_millimetres(one.geometry),
    }


def _thing(thing: PlanThing) -> dict[str, Any]:
    return {
        "layer": thing.layer,
        "name": thing.name,
        "kind": thing.kind,
        "notes": thing.notes,
        "parts": parts_in_millimetres(thing.geometry),
    }


def _load(load: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a crew needs of a load."""
    return {
        "exact": load["exact"]["words"],
        "units": {name: size for name, size in load["exact"].items() if name != "words"},
        "loads": [_mix(one) for one in load["loads"]],
        "left_out": [{"zone": one["zone"], "why": one["why"]} for one in load["left_out"]],
        "asks": list(load["asks"]),
    }


def _mix(one: Mapping[str, Any]) -> dict[str, Any]:
    spray = one["spray"]
    return {
        "rate": one["rate"],
        "zones": [zone["zone"] for zone in one["zones"]],
        "area_m2": one["area_m2"],
        "exact": one["exact"]["words"],
        "carrier": spray and spray["carrier"],
        "spray": spray and spray["volume"]["words"],
        "water": spray and spray["water"]["words"],
        "tanks": tank_lines(spray["tanks"]) if spray and spray["tanks"] else [],
        "water_in": one["water_in"] and one["water_in"]["volume"]["words"],
    }


def tank_lines(tanks: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return the fillings of a tank: how many, of what, with how much product, for how much."""
    full, part = tanks["each_full"], tanks["part"]
    lines = []
    if full:
        lines.append(_filling(tanks["full"], tanks["tank"]["words"], full))
    if part:
        lines.append(_filling(1, part["volume"]["words"], part))
    return lines


def _filling(count: int, volume: str, of: Mapping[str, Any]) -> dict[str, Any]:
    product, covers = of["product"]["words"], of["covers_sqft"]
    return {"count": count, "volume": volume, "product": product, "covers_sqft": round(covers)}
