"""How much of each zone there is, and how much of it may be treated."""

from pathlib import Path
from typing import Any

import numpy as np

from turfmap.desk.place import Overrides, Place, read_place, shapes_of
from turfmap.foundations.units import square_feet
from turfmap.ground.treatable import Treatable, treatable

PARTS = ("gross", "obstacle", "no_spray", "treatable")


def area(
    path: Path, *, property_name: str | None, product: str | None, overrides: Overrides
) -> dict[str, Any]:
    """Measure the zones of a file, or of one of its properties.

    Returns
    -------
    dict
        ``zones`` (property, zone, kind, each part in m2 and sq ft, causes), ``setbacks`` used,
        ``cautions``.
    """
    place = read_place(path, property_name=property_name, product=product, overrides=overrides)
    return measured(place)[0]


def measured(place: Place) -> tuple[dict[str, Any], Treatable]:
    """Measure a place that has been read; return the result and the shapes behind it."""
    found = treatable(shapes_of(place.zones), place.obstacle_things(), place.protected_things())
    result = {
        "zones": _zones(place, found),
        "setbacks": [
            {"category": used.category, "distance_m": used.distance_m, "source": used.source}
            for used in place.setbacks.values()
        ],
        "cautions": place.cautions,
    }
    return result, found


def _zones(place: Place, found: Treatable) -> list[dict[str, Any]]:
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
    in_m2 = {f"{part}_m2": float(getattr(found, f"{part}_m2")[index]) for part in PARTS}
    return in_m2 | {f"{part}_sqft": square_feet(in_m2[f"{part}_m2"]) for part in PARTS}


def _causes(place: Place, found: Treatable) -> list[list[dict[str, Any]]]:
    causes: list[list[dict[str, Any]]] = [[] for _ in range(len(place.zones))]
    losses = found.losses
    protected = place.protected.to_dict("records")
    for zone, feature, lost_m2, gross_lost_m2 in zip(
        losses.zone, losses.feature, losses.lost_m2, losses.gross_lost_m2, strict=True
    ):
        of = protected[feature]
        causes[zone].append(
            {key: of[key] for key in ("layer", "category", "name", "distance_m", "margin_m")}
            | {"lost_m2": float(lost_m2), "gross_lost_m2": float(gross_lost_m2)}
        )
    return causes


def totals(result: dict[str, Any]) -> dict[str, float]:
    """Return the sum of each part over the zones of a result [m2]."""
    return {
        f"{part}_m2": float(np.sum([zone[f"{part}_m2"] for zone in result["zones"]]))
        for part in PARTS
    }
