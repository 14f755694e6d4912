"""How much of each zone there is, and how much of it may be treated."""

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from turfmap.desk.engine import Engine
from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.place import Place, rank_of, read_place
from turfmap.desk.protected import Overrides, few
from turfmap.foundations.units import square_feet
from turfmap.ground.parts import cut_part, ground_parts
from turfmap.ground.treatable import Treatable, joined, treatable

PARTS = ("gross", "obstacle", "no_spray", "treatable")
# Part of the obstacles: ground that is drawn twice and that another zone owns.
SHARED = "shared"
# Of a cause: in the order of causes, these sum to the no-spray ground; all within its reach; and
# what no other cause reaches.
OF_A_CAUSE = ("layer", "category", "name", "distance_m", "margin_m", "half_width_m")
LOST = ("lost_m2", "gross_lost_m2", "exclusive_m2")


def area(
    path: Path,
    *,
    property_name: str | None,
    product: str | None,
    overrides: Overrides,
    engine: Engine | None = None,
) -> dict[str, Any]:
    """Measure the zones of a file, or of one of its properties.

    Parameters
    ----------
    engine
        Who cuts the ground, part by part; None: this process. The answer is the same, to the bit.

    Returns
    -------
    dict
        ``zones`` (property, zone, kind, each part in m2 and sq ft, causes), ``setbacks`` used,
        ``cautions``.
    """
    place = read_place(path, property_name=property_name, product=product, overrides=overrides)
    return measured(place, engine=engine)[0]


def measured(place: Place, *, engine: Engine | None = None) -> tuple[dict[str, Any], Treatable]:
    """Measure a place that has been read; return the result and the shapes behind it."""
    found = _cut(place, engine)
    near = set(place.protected["category"])
    if place.is_part:
        near = set(place.protected["category"].iloc[np.unique(found.losses.feature)])
    result = {
        "zones": zone_rows(place, found),
        "setbacks": [
            {"category": used.category, "distance_m": used.distance_m, "source": used.source}
            for used in place.setbacks.values()
            if used.category in near
        ],
        "cautions": [*place.cautions, *_drawn_twice(place, found)],
    }
    return result, found


def _cut(place: Place, engine: Engine | None) -> Treatable:
    # In the order of drawing: of equal zones that share ground, the first owns it.
    together = pd.concat([place.zones, place.neighbours]).sort_values("fid")
    zones, rank = shapes_of(together), rank_of(together)
    chosen = np.flatnonzero(together["fid"].isin(place.zones["fid"]))
    taken = place.obstacle_things(), place.protected_things()
    if engine is None or not chosen.size:
        return treatable(zones, *taken, rank=rank, chosen=chosen)
    size = engine.size_of_a_part(chosen.size)
    parts = list(ground_parts(zones, *taken, rank=rank, chosen=chosen, size=size))
    return joined([part.numbers for part in parts], engine.each(cut_part, parts))


def _drawn_twice(place: Place, found: Treatable) -> list[str]:
    """Say which zones lose ground to another zone that it is drawn in as well."""
    # Less than this is the play of two lines along one edge.
    losers = np.flatnonzero(found.shared_m2 > 0.1)
    rows = place.zones.iloc[losers]
    named = [f"{of} / {zone}" for of, zone in zip(rows["property"], rows["name"], strict=True)]
    if not named:
        return []
    return [f"Drawn over another zone, which keeps the ground they share: {few(named)}."]


def zone_rows(place: Place, found: Treatable) -> list[dict[str, Any]]:
    """Return what was found of each zone of a place, as plain data."""
    causes = _causes(place, found)
    zones = place.zones
    names = zip(zones["id"], zones["property"], zones["name"], zones["kind"], strict=True)
    return [
        {"property": of, "zone": name, "kind": kind, "id": identity}
        | _parts(found, index)
        | {"causes": causes[index]}
        for index, (identity, of, name, kind) in enumerate(names)
    ]


def _parts(found: Treatable, index: int) -> dict[str, float]:
    parts = (*PARTS, SHARED)
    in_m2 = {f"{part}_m2": float(getattr(found, f"{part}_m2")[index]) for part in parts}
    return in_m2 | {f"{part}_sqft": square_feet(in_m2[f"{part}_m2"]) for part in parts}


def _causes(place: Place, found: Treatable) -> list[list[dict[str, Any]]]:
    causes: list[list[dict[str, Any]]] = [[] for _ in range(len(place.zones))]
    losses = found.losses
    protected = place.protected.to_dict("records")
    for row, (zone, feature) in enumerate(zip(losses.zone, losses.feature, strict=True)):
        of = protected[feature]
        causes[zone].append(
            {key: of[key] for key in OF_A_CAUSE}
            | {name: max(float(getattr(losses, name)[row]), 0.0) for name in LOST}
        )
    return causes


def totals(result: dict[str, Any]) -> dict[str, float]:
    """Return the sum of each part over the zones of a result [m2]."""
    return {
        f"{part}_m2": float(np.sum([zone[f"{part}_m2"] for zone in result["zones"]]))
        for part in (*PARTS, SHARED)
    }
