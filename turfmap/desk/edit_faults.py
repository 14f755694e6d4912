"""What an edit is refused for, as the editor is told it: what, where, and which others."""

import json
from collections.abc import Iterable, Sequence
from typing import Any

import shapely

FaultRow = dict[str, Any]


class RefusedError(Exception):
    """Raised when a drawing cannot be taken; carries every fault found, as plain data."""

    def __init__(self, faults: Iterable[FaultRow]) -> None:
        self.faults = list(faults)
        super().__init__("; ".join(fault["problem"] for fault in self.faults))


def plain_fault(
    problem: str,
    mend: str,
    kind: str,
    *,
    column: str | None = None,
    where: shapely.Geometry | None = None,
    others: Sequence[str] = (),
) -> FaultRow:
    """Return one fault as plain data.

    Parameters
    ----------
    problem, mend
        What is wrong and what to do about it, in words.
    kind
        What sort of fault: definition, invalid, overlap, outside; of notes also gap, margin,
        over_the_line.
    column
        The column that it is about.
    where
        The ground or place that it is about, in EPSG:4326.
    others
        Identities of other features that it is about.
    """
    return {
        "problem": problem,
        "mend": mend,
        "kind": kind,
        "column": column,
        "where": None if where is None else plain_geometry(where),
        "with": list(others),
    }


def refused(problem: str, mend: str, kind: str = "invalid", **more: Any) -> RefusedError:
    """Return the error for a single fault, ready to raise; see `plain_fault`."""
    return RefusedError([plain_fault(problem, mend, kind, **more)])


def plain_geometry(shape: shapely.Geometry) -> dict[str, Any]:
    """Return a shape as a GeoJSON geometry, rings wound as RFC 7946 3.1.6 asks."""
    found: dict[str, Any] = json.loads(shapely.to_geojson(shapely.orient_polygons(shape)))
    return found
