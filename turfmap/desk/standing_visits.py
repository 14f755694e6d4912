"""The visits that count: what the season and the annual sums of a product are judged by."""

from pathlib import Path

from turfmap.foundations.checks import checked_rows
from turfmap.foundations.definitions import Row, map_layer
from turfmap.foundations.errors import InputFaultsError
from turfmap.store import geopackage, visits


def standing_visits(path: Path) -> list[Row]:
    """Return the visits of a place that were neither corrected since nor cancelled, as declared.

    Raises
    ------
    InputFaultsError
        With everything in them that does not fit the declaration: another program may have
        written anything.
    """
    layer = map_layer("visit")
    frame = visits.standing(geopackage.read_layer(path, layer.name))
    raw = frame[list(layer.columns)].to_dict("records")
    records = [f"{layer.name} {fid}" for fid in frame["fid"]]
    rows, faults = checked_rows(raw, layer, file=str(path), records=records)
    found = [fault for mine in faults for fault in mine]
    if found:
        raise InputFaultsError(found)
    return rows
