"""What is due on each zone of a place on a day, what must wait, and what to ask first."""

from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import shapely

from turfmap.desk.place import LON_LAT, shapes_of, with_property
from turfmap.foundations.checks import checked_rows
from turfmap.foundations.definitions import Row, map_layer
from turfmap.foundations.errors import InputFaultsError, input_fault
from turfmap.season import due as season
from turfmap.season.weather import weather_until
from turfmap.store import geopackage
from turfmap.store.weather_file import read_weather_file

FIRST_YEAR, LAST_YEAR = 1900, 2200
ZONE_COLUMNS = ("property", "name", "kind", "species", "bed_type", "latitude", "irrigated")


def due(
    path: Path,
    *,
    as_of: date,
    weather_file: Path | None = None,
    property_name: str | None = None,
    why: str | None = None,
) -> dict[str, Any]:
    """Return what is due on every zone of a place.

    Parameters
    ----------
    path
        The turfmap file.
    as_of
        The day asked about.
    weather_file
        A daily weather CSV; without one, the weather in the file itself is used.
    property_name
        Only this property.
    why
        Only this zone, by its name or as ``property / zone``, with the whole chain of reasons.

    Returns
    -------
    dict
        See `turfmap.season.due.due`.

    Raises
    ------
    InputFaultsError
        If a file needs mending, or the property or zone is not there.
    """
    _check_year(as_of)
    frame = with_property(
        _lon_lat(geopackage.read_layer(path, "zone")),
        _lon_lat(geopackage.read_layer(path, "property")),
    )
    zones = _zones(frame, file=str(path))
    zones = _named(zones, property_name, why, file=str(path))
    weather_rows, notes = _weather(path, weather_file)
    found = season.due(
        {name: [row[name] for row in zones] for name in ZONE_COLUMNS},
        answers=_rows(path, "client_answer"),
        visits=_rows(path, "visit"),
        weather=weather_until(weather_rows, as_of=as_of),
        as_of=as_of,
        why=why is not None,
    )
    return {**found, "cautions": [*found["cautions"], *notes]}


def _check_year(as_of: date) -> None:
    if not FIRST_YEAR <= as_of.year <= LAST_YEAR:
        raise input_fault(
            f"{as_of} is not a day of work", f"give one from {FIRST_YEAR} to {LAST_YEAR}"
        )


def _lon_lat(frame: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    return frame if frame.crs is None or frame.crs == LON_LAT else frame.to_crs(LON_LAT)


def _zones(frame: gpd.GeoDataFrame, *, file: str) -> list[Row]:
    """Return the zones as checked rows, each with the latitude of its middle [deg]."""
    rows = _checked(frame, "zone", file=file)
    latitudes = shapely.get_y(shapely.centroid(shapes_of(frame)))
    return [
        row | {"latitude": latitude}
        for row, latitude in zip(rows, np.atleast_1d(latitudes), strict=True)
    ]


def _rows(path: Path, layer_name: str) -> list[Row]:
    return _checked(geopackage.read_layer(path, layer_name), layer_name, file=str(path))


def _checked(frame: gpd.GeoDataFrame, layer_name: str, *, file: str) -> list[Row]:
    """Return a layer's rows as declared; another program may have written anything into them."""
    layer = map_layer(layer_name)
    raw = frame[list(layer.columns)].to_dict("records")
    records = [f"{layer_name} {fid}" for fid in frame["fid"]]
    rows, faults = checked_rows(raw, layer, file=file, records=records)
    found = [fault for mine in faults for fault in mine]
    if found:
        raise InputFaultsError(found)
    return rows


def _named(zones: list[Row], property_name: str | None, why: str | None, *, file: str) -> list[Row]:
    wanted = [row for row in zones if property_name in {None, row["property"]}]
    if not wanted and property_name is not None:
        raise _not_there("property", property_name, (row["property"] for row in zones), file)
    named = [row for row in wanted if why in {None, row["name"], place_words(row)}]
    if not named and why is not None:
        raise _not_there("zone", why, map(place_words, wanted), file)
    return named


def place_words(row: Row) -> str:
    """Return a zone with its property, as typed after ``--why``."""
    return f"{row['property']} / {row['name']}"


def _not_there(what: str, name: str, there: Iterable[str], file: str) -> InputFaultsError:
    few = ", ".join(sorted(set(there))[:10]) or "none yet"
    return input_fault(
        f"there is no {what} {name!r} with a zone in it"
        if what == "property"
        else f"there is no {what} {name!r}",
        f"choose one that is there ({few})",
        file=file,
    )


def _weather(path: Path, weather_file: Path | None) -> tuple[list[Row], list[str]]:
    """Return daily rows of one station and what to say of them."""
    notes: list[str] = []
    if weather_file is None:
        rows = _rows(path, "weather")
    else:
        read = read_weather_file(weather_file)
        rows, notes = read.rows, read.notes
    stations = sorted({row["station"] or "" for row in rows})
    if not stations:
        return [], notes
    chosen = [row for row in rows if (row["station"] or "") == stations[0]]
    if len(stations) > 1:
        notes = [
            *notes,
            f"The weather of {stations[0]} is used everywhere: it is the first of"
            f" {len(stations)} stations.",
        ]
    elif weather_file is None:
        notes = [f"Weather: {stations[0]}."]
    return chosen, notes
