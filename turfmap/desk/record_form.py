"""What the page's form for a visit needs, and the records as it shows and corrects them."""

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import geopandas as gpd

from turfmap.desk import features
from turfmap.desk.definitions_for_drawing import identity_of
from turfmap.desk.map import title_of
from turfmap.desk.record_asked import PLAIN
from turfmap.desk.record_duties import posting
from turfmap.desk.record_ground import Ground
from turfmap.desk.record_list import export, records
from turfmap.foundations.definitions import Row, map_layer, table
from turfmap.foundations.errors import input_fault
from turfmap.foundations.units import METRES_PER_SECOND_PER_MPH, fahrenheit
from turfmap.store import geopackage

Plain = dict[str, Any]
# Facts of the form, and the column by whose name a rule on records asks for each.
COLUMN_OF = {**PLAIN, "amount": "amount", "area": "area_treated_m2", "wind": "wind_m_per_s"}
COLUMN_OF |= {"wind_from": "wind_from", "air": "air_c"}
# The map says these unless somebody writes something else.
FROM_MAP = {"area_treated_m2", "site"}
ENDINGS = ("csv", "json", "html")
MOST_SHOWN = 50


def record_form(path: Path, *, as_of: date | None) -> Plain:
    """Return what a place knows that a visit is written down with.

    Parameters
    ----------
    path
        The place.
    as_of
        The day that the form opens on; None leaves that to the page.

    Returns
    -------
    dict
        ``place`` (id, title, writable, as_of), ``properties`` (name, client, address, posting,
        zones: name, kind), ``products`` (name, registration, is_confirmed), ``actives``,
        ``tasks`` (task, title, chemical, ground), ``units``, ``winds``, ``asked_for`` (facts
        that a rule requires where a chemical is put down).

    Raises
    ------
    InputFaultsError
        If the file is not there or cannot be read.
    """
    frames = {name: geopackage.read_layer(path, name) for name in ("property", "zone", "product")}
    rules = {row["element"] for row in table("record_rule").rows if row["need"] == "required"}
    return {
        "place": {
            "id": identity_of(path),
            "title": title_of(path, frames["property"]["name"]),
            "writable": features.is_writable(path),
            "as_of": as_of.isoformat() if as_of else None,
        },
        "properties": _properties(frames["property"], frames["zone"]),
        "products": [
            {
                "name": row["name"],
                "registration": row["registration_number"],
                "is_confirmed": bool(row["confirmed_on"]),
            }
            for row in _rows(frames["product"])
        ],
        "actives": sorted({row["active_ingredient"] for row in table("choice").rows}),
        "tasks": [
            {"task": row["task"], "title": row["title"], "chemical": bool(row["chemical"])}
            | {"ground": row["ground"].split(";")}
            for row in table("task").rows
        ],
        "units": [row["amount_unit"] for row in table("amount_unit").rows],
        "winds": list(map_layer("visit").columns["wind_from"].one_of or ()),
        "asked_for": [fact for fact, column in COLUMN_OF.items() if column in rules - FROM_MAP],
    }


def _rows(frame: gpd.GeoDataFrame) -> list[Row]:
    plain = frame.drop(columns="geometry", errors="ignore").astype(object)
    found: list[Row] = plain.where(plain.notna(), None).to_dict("records")
    return found


def _properties(properties: gpd.GeoDataFrame, zones: gpd.GeoDataFrame) -> list[Plain]:
    """Return properties by name; one that only its zones name is there too."""
    known: dict[str, Plain] = {}
    for row in _rows(properties):
        about = {name: row[name] or "" for name in ("name", "client", "address")}
        known[row["name"]] = about | {"posting": posting(row["state"]), "zones": []}
    for zone in _rows(zones):
        name = zone["property"]
        if not name:
            continue
        empty = {"name": name, "client": "", "address": "", "posting": posting(None), "zones": []}
        known.setdefault(name, empty)["zones"].append({"name": zone["name"], "kind": zone["kind"]})
    return [known[name] for name in sorted(known)]


def treatable_ground(path: Path, property_name: str, product: str | None) -> Plain:
    """Return how much of each zone of a property may be treated with a product.

    Returns
    -------
    dict
        ``zones``: zone, kind, gross_m2, treatable_m2; ``cautions``.

    Raises
    ------
    InputFaultsError
        If there is no such property.
    """
    ground = Ground(path)
    if property_name not in ground.properties.keys() | ground.zones.keys():
        raise input_fault(f"there is no property {property_name!r}", "choose one that is there")
    found = ground.measured(property_name, product)[0]
    names = ("zone", "kind", "gross_m2", "treatable_m2")
    zones = [{name: zone[name] for name in names} for zone in found["zones"]]
    return {"zones": zones, "cautions": list(dict.fromkeys(found["cautions"]))}


def recent_records(path: Path, *, most: int = MOST_SHOWN) -> Plain:
    """Return the newest records, those that no longer count among them.

    Returns
    -------
    dict
        ``count`` of all; ``records``, the last written first: those of
        `turfmap.desk.record_list.records` without their rows, with ``title``, ``corrects``,
        ``corrected_by``, ``reason``, ``recorded_at`` and ``said`` (its facts, for the form).
    """
    found = records(path)["records"]
    titles = {row["task"]: row["title"] for row in table("task").rows}
    takes_place = {one["rows"][0]["corrects"]: one["record"] for one in found}
    shown = found[::-1][:most]
    return {
        "count": len(found),
        "records": [_shown(one, titles, takes_place.get(one["record"])) for one in shown],
    }


def _shown(one: Plain, titles: Mapping[str, str], corrected_by: str | None) -> Plain:
    first = one["rows"][0]
    told = {name: value for name, value in one.items() if name != "rows"}
    return {
        **told,
        "date": str(one["date"] or "")[:10],
        "title": titles.get(one["task"], one["task"]),
        "corrected_by": corrected_by,
        **{name: first[name] for name in ("corrects", "reason", "recorded_at")},
        "recorded_at": str(first["recorded_at"] or ""),
        "said": _said(one["rows"]),
    }


def _said(rows: Sequence[Row]) -> Plain:
    """Return a record's facts as the form writes them."""
    first = rows[0]
    said = {name: str(first[column] or "") for name, column in PLAIN.items()}
    amounts = [row["amount"] for row in rows if row["amount"] is not None]
    wind, air = first["wind_m_per_s"], first["air_c"]
    return said | {
        "date": said["date"][:10],
        "zones": [row["zone"] for row in rows if row["zone"]],
        "amount": f"{sum(amounts):.6g}" if amounts else "",
        "unit": first["amount_unit"] or "",
        "wind": "" if wind is None else f"{wind / METRES_PER_SECOND_PER_MPH:.3g}",
        "wind_from": first["wind_from"] or "",
        "air": "" if air is None else f"{fahrenheit(air):.4g}",
        "site": first["site"] if len({row["site"] for row in rows}) == 1 else "",
        "area": "",
        "reason": "",
    }


def handed_out(path: Path, ending: str) -> bytes:
    """Return all records as the file that `turfmap.desk.record_list.export` writes.

    Raises
    ------
    InputFaultsError
        If the ending is not one of `ENDINGS`, or the place cannot be read.
    """
    if ending not in ENDINGS:
        raise input_fault(f"{ending[:20]!r} is no sort of file", f"choose {', '.join(ENDINGS)}")
    with TemporaryDirectory(prefix="turfmap-") as folder:
        out = Path(folder) / f"records.{ending}"
        export(path, out)
        return out.read_bytes()
