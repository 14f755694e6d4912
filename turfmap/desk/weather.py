"""Which weather each property has: its nearest station, what was given for this run, a forecast."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np

from turfmap.foundations.checks import checked_rows
from turfmap.foundations.dates import day_words
from turfmap.foundations.definitions import map_layer
from turfmap.foundations.errors import InputFaultsError, input_fault
from turfmap.ground.nearest import nearest
from turfmap.season.weather import Site, Weather, weather_until
from turfmap.season.weather_gaps import LinearFill, filled
from turfmap.store import geopackage
from turfmap.store.weather_file import WeatherFile, read_weather_file

METRES_PER_MILE = 1609.344
FAR_MILES = 25.0
LON_LAT = "EPSG:4326"
# All that a place keeps of it: a station whose name says so is no record of what happened.
TYPICAL = "typical year"

Row = dict[str, Any]
Point = tuple[float, float]


@dataclass(frozen=True)
class Given:
    """What the user gives for one run instead of what the place holds.

    Attributes
    ----------
    record
        A weather file that wins over the weather in the place.
    forecast
        A weather file joined after the record.
    fill
        How short gaps are filled; not at all if None.
    """

    record: Path | None = None
    forecast: Path | None = None
    fill: LinearFill | None = None


@dataclass(frozen=True)
class PlaceWeather:
    """The weather of a place.

    Attributes
    ----------
    cells
        The weather of each station that some property uses.
    names
        What the stations are called, in the order of `cells`.
    cell_of
        Which cell each property has.
    distance_m
        How far each property is from its station [m]; None if not known.
    notes
        What must be said of it.
    """

    cells: tuple[Weather, ...]
    names: tuple[str, ...]
    cell_of: Mapping[str, int]
    distance_m: Mapping[str, float | None]
    notes: list[str]

    def of(self, property_name: str) -> Weather:
        """Return the weather of a property."""
        return self.cells[self.cell_of[property_name]]


@dataclass(frozen=True)
class _Record:
    """Daily rows by station, where the stations stand, and what to say."""

    rows: dict[str, list[Row]]
    sites: dict[str, Site]
    notes: list[str]
    is_own: bool
    is_typical: bool = False


def place_weather(
    path: Path, middles: Mapping[str, Point], *, as_of: date, given: Given | None = None
) -> PlaceWeather:
    """Return the weather of each property up to a day, with what is forecast after it.

    Parameters
    ----------
    path
        The turfmap file.
    middles
        Longitude and latitude of each property [deg]; NaN where it has no shape.
    as_of
        The day asked about; what was measured later is left out.

    Raises
    ------
    InputFaultsError
        If a file needs mending, or holds several stations and says of none where it stands.
    """
    given = given or Given()
    record = _record(path, as_of=as_of, given=given)
    choice = _shared_out(list(record.rows), record.sites, middles)
    ahead, notes = _forecast(given, choice.names, as_of=as_of)
    cells = []
    for name in choice.names:
        weather = weather_until(
            _whole(record.rows.get(name, []), path) if record.is_own else record.rows.get(name, []),
            as_of=as_of,
            forecast=ahead.get(name, ()),
            site=record.sites.get(name),
            is_typical=record.is_typical or TYPICAL in name.casefold(),
        )
        if given.fill is not None:
            weather, said = filled(weather, given.fill)
            notes += [f"{name}: {line}" for line in said]
        cells.append(weather)
    return PlaceWeather(
        tuple(cells),
        choice.names,
        choice.cell_of,
        choice.distance_m,
        [*record.notes, *choice.notes, *notes],
    )


def _record(path: Path, *, as_of: date, given: Given) -> _Record:
    """Return the file given for this run, or what the place holds."""
    sites = _sites(path)
    if given.record is None:
        rows = _by_station(geopackage.read_layer(path, "weather").to_dict("records"))
        return _Record(rows, sites, [], is_own=True)
    file = given.record
    read = _read(file, as_of)
    theirs = {
        station or file.stem: Site(place["latitude"], place["longitude"], place["elevation_m"])
        for station, place in read.places.items()
    }
    rows = _by_station({**row, "station": row["station"] or file.stem} for row in read.rows)
    notes = list(read.notes)
    return _Record(rows, sites | theirs, notes, is_own=False, is_typical=read.is_typical)


def _read(file: Path, as_of: date) -> WeatherFile:
    """Read a weather file; a typical year stands for the year of the day and the one before."""
    read = read_weather_file(file, year=as_of.year)
    if not read.is_typical:
        return read
    before = read_weather_file(file, year=as_of.year - 1)
    return replace(
        read,
        rows=[*before.rows, *read.rows],
        hours=[*before.hours, *read.hours],
        notes=[*read.notes, f"It is laid on {as_of.year - 1} too."],
    )


def _by_station(rows: Iterable[Mapping[Any, Any]]) -> dict[str, list[Row]]:
    found: dict[str, list[Row]] = {}
    for row in rows:
        found.setdefault(str(row["station"] or ""), []).append(dict(row))
    return dict(sorted(found.items()))


def _sites(path: Path) -> dict[str, Site]:
    """Return where the place says that stations stand."""
    layer = map_layer("weather_station")
    frame = geopackage.read_layer(path, layer.name)
    if frame.crs is not None and frame.crs != LON_LAT:
        frame = frame.to_crs(LON_LAT)
    raw = frame[["fid", *layer.columns]].to_dict("records")
    rows = _checked(raw, layer.name, file=str(path))
    sites = {}
    for row, point in zip(rows, frame.geometry, strict=True):
        if point is not None and not point.is_empty:
            height_m = row["wind_height_m"] or 10.0
            sites[row["name"]] = Site(point.y, point.x, row["elevation_m"], height_m)
    return sites


def _whole(rows: Sequence[Row], path: Path) -> list[Row]:
    """Return rows of the place as declared; another program may have written anything there."""
    return _checked(rows, "weather", file=str(path))


def _checked(raw: Sequence[Mapping[Any, Any]], layer_name: str, *, file: str) -> list[Row]:
    records = [f"{layer_name} {row['fid']}" for row in raw]
    rows, faults = checked_rows(raw, map_layer(layer_name), file=file, records=records)
    found = [fault for mine in faults for fault in mine]
    if found:
        raise InputFaultsError(found)
    return rows


@dataclass(frozen=True)
class _Choice:
    """Which station each property has; see `PlaceWeather`."""

    names: tuple[str, ...]
    cell_of: dict[str, int]
    distance_m: dict[str, float | None]
    notes: list[str]


def _shared_out(
    stations: Sequence[str], sites: Mapping[str, Site], middles: Mapping[str, Point]
) -> _Choice:
    """Give each property its nearest station.

    A station of which nobody says where it stands is used only if there is no other.
    """
    placed = [name for name in stations if name in sites]
    if len(stations) == 1 and not placed:
        note = f"Where {stations[0]} stands is not known: its weather is used as the only one."
        return _same_for_all(stations[0], middles, [note])
    notes = []
    if len(placed) < len(stations):
        left = ", ".join(name for name in stations if name not in sites)
        notes.append(
            f"Weather of {left} is not used: nobody says where it was measured. Bring in a layer"
            " weather_station."
        )
    if not placed:
        return _same_for_all("", middles, notes)
    points = np.array([(sites[name].longitude, sites[name].latitude) for name in placed])
    places = np.array([middles[name] for name in middles], dtype=np.float64).reshape(-1, 2)
    index, distance_m = nearest(places, points)
    if len(placed) == 1:
        index[:] = 0
    # The last name is that of no station, for properties without a shape.
    used = [[*placed, ""][place] for place in index]
    names = tuple(sorted(set(used)))
    apart_m = [None if np.isnan(value) else float(value) for value in distance_m]
    notes += [_distance_note(name, used, apart_m) for name in names if name]
    if "" in names:
        notes.append("Properties without a shape have no weather: nobody knows which is nearest.")
    return _Choice(
        names,
        {name: names.index(one) for name, one in zip(middles, used, strict=True)},
        dict(zip(middles, apart_m, strict=True)),
        notes,
    )


def _same_for_all(station: str, middles: Mapping[str, Point], notes: list[str]) -> _Choice:
    return _Choice((station,), dict.fromkeys(middles, 0), dict.fromkeys(middles), notes)


def _distance_note(station: str, used: Sequence[str], apart_m: Sequence[float | None]) -> str:
    """Tell how far a station is from the properties that use it."""
    mine = [apart for one, apart in zip(used, apart_m, strict=True) if one == station]
    miles = sorted(apart / METRES_PER_MILE for apart in mine if apart is not None)
    count = f"{len(mine)} {'property' if len(mine) == 1 else 'properties'}"
    if not miles:
        return f"Weather of {station}: {count}, how far away is not known."
    near, far = f"{miles[0]:.1f}", f"{miles[-1]:.1f}"
    span = near if near == far else f"{near} to {far}"
    warning = "; weather so far away may be another" if miles[-1] > FAR_MILES else ""
    return f"Weather of {station}: {count}, {span} miles away{warning}."


def _forecast(
    given: Given, stations: Sequence[str], *, as_of: date
) -> tuple[dict[str, list[Row]], list[str]]:
    """Return what is forecast for each station in use, and what to say of it.

    A forecast belongs to the station of its name; one alone in its file is for all.
    """
    if given.forecast is None:
        return {}, []
    file = given.forecast
    read = read_weather_file(file, year=as_of.year)
    rows = _by_station({**row, "station": row["station"] or file.stem} for row in read.rows)
    if not rows:
        raise input_fault("it holds no days", "choose another file", file=str(file))
    if len(rows) == 1:
        ((name, only),) = rows.items()
        ahead = dict.fromkeys(stations, only)
    else:
        ahead = {name: rows[name] for name in stations if name in rows}
        if not ahead:
            raise input_fault(
                f"it has forecasts for {', '.join(rows)}, but weather is that of"
                f" {', '.join(stations)}",
                "use the same names, or give one forecast for all",
                file=str(file),
            )
        name = ", ".join(ahead)
    last = max(row["date"] for row in read.rows)
    return ahead, [
        *read.notes,
        f"Days after the record, up to {day_words(last)}, are the forecast of {name}.",
    ]
