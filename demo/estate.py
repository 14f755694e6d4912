"""The estate of the demo, from the hand drawing in ``estate.toml``."""

import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path

from demo.drawing import Layers, Points, Row, crown, line, point, polygon, smooth

DRAWING = Path(__file__).with_suffix(".toml")


def estate() -> Layers:
    """Return the estate's rows by layer, from its drawing."""
    drawing = tomllib.loads(DRAWING.read_text(encoding="utf-8"))
    curves = {name: smooth(knots, closed=False) for name, knots in drawing["curves"].items()}
    curves |= {name: _points(knots) for name, knots in drawing["lines"].items()}
    rings = {name: smooth(knots, closed=True) for name, knots in drawing["rings"].items()}
    rings |= {name: _points(knots) for name, knots in drawing["corners"].items()}
    owner = drawing["property"]
    layers: Layers = {"property": [owner | {"geometry": polygon(_points(owner["ring"]))}]}
    for zone in drawing["zone"]:
        holes = [rings[name] for name in zone.get("holes", ())]
        shell = _joined(zone["edges"], curves, rings)
        layers.setdefault("zone", []).append(
            zone | {"property": owner["name"], "geometry": polygon(shell, *holes)}
        )
    for layer in ("water", "sensitive_site", "obstacle", "gate", "canopy"):
        layers[layer] = [row | {"geometry": _shape(row, rings)} for row in drawing[layer]]
    layers["client_answer"] = [
        row | {"property": owner["name"]} for row in drawing["client_answer"]
    ]
    return layers


def _points(knots: Sequence[Sequence[float]]) -> Points:
    return [(float(x), float(y)) for x, y in knots]


def _joined(
    edges: Sequence[str], curves: Mapping[str, Points], rings: Mapping[str, Points]
) -> Points:
    if edges[0] in rings:
        return rings[edges[0]]
    ring: Points = []
    for name in edges:
        curve = curves[name.removeprefix("-")]
        ring += (curve[::-1] if name.startswith("-") else curve)[:-1]
    return ring


def _shape(row: Row, rings: Mapping[str, Points]) -> Row:
    if "course" in row:
        return line(smooth(row["course"], closed=False))
    if "radius_m" in row:
        return polygon(crown(row["at"], row["radius_m"]))
    if "at" in row:
        return point(row["at"])
    return polygon(rings[row["ring"]])
