"""The no-spray ground as shapes, one for each protected feature."""

from pathlib import Path
from typing import Any

import numpy as np

from turfmap.desk.area import measured
from turfmap.desk.place import read_place
from turfmap.desk.protected import Overrides
from turfmap.ground.nospray import no_spray_ground
from turfmap.store.geojson import write_geojson


def nospray(
    path: Path,
    *,
    out: Path,
    property_name: str | None,
    product: str | None,
    overrides: Overrides,
) -> dict[str, Any]:
    """Write the no-spray ground of a file, or near one of its properties, as GeoJSON.

    Each feature is the whole ground within reach of one protected feature, with what it takes
    from the zones. Coordinates are full length: rounding them would move the edge.
    """
    place = read_place(path, property_name=property_name, product=product, overrides=overrides)
    result, found = measured(place)
    losses = found.losses
    touched = np.arange(len(place.protected))
    if property_name is not None:
        touched = np.unique(losses.feature)
    lost_m2 = np.bincount(losses.feature, losses.lost_m2, minlength=len(place.protected))
    protected = place.protected.assign(lost_m2=lost_m2).iloc[touched]
    things = place.protected_things()
    ground = no_spray_ground(things.shapes[touched], things.radius_m[touched])
    # Who reads the file alone must know for what it was drawn, and from where the distance is.
    sources = {name: used.source for name, used in place.setbacks.items()}
    unknown = "not a kind that turfmap knows: the widest setback"
    protected["source"] = protected["category"].map(sources).fillna(unknown)
    protected["product"] = product
    protected["verified"] = [
        not place.setbacks[name].unverified if name in place.setbacks else False
        for name in protected["category"]
    ]
    columns = ["layer", "category", "name", "distance_m", "margin_m", "half_width_m", "lost_m2"]
    columns += ["source", "product", "verified"]
    write_geojson(out, ground, protected[columns].to_dict("records"))
    return {
        "out": str(out),
        "features": protected[columns].to_dict("records"),
        "setbacks": result["setbacks"],
        "cautions": result["cautions"],
    }
