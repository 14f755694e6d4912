"""What the season is judged by, read from a place: zones, answers, visits, weather, own rows."""

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import shapely

from turfmap.days.knowledge import Knowledge, knowledge
from turfmap.days.product_rows import read_product
from turfmap.days.products import Product, lb_per_acre, limit_of_active
from turfmap.days.record import applied_on
from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.own_rows import own_rows
from turfmap.desk.place import LON_LAT, not_looked, with_property
from turfmap.desk.protected import few
from turfmap.desk.standing_visits import standing_visits
from turfmap.desk.weather import Given, place_weather
from turfmap.foundations.checks import checked_rows
from turfmap.foundations.dates import FIRST_YEAR, LAST_YEAR
from turfmap.foundations.definitions import Row, map_layer
from turfmap.foundations.errors import InputFaultsError, input_fault
from turfmap.season.what_if import Known
from turfmap.store import geopackage

ZONE_COLUMNS = (
    "property",
    "name",
    "kind",
    "species",
    "bed_type",
    "latitude",
    "longitude",
    "irrigated",
    "soil",
    "shade",
    "sun_hours",
)


MOST_NAMED = 20  # zones of one name listed in a fault


@dataclass(frozen=True)
class SeasonInputs:
    """All that zones are judged by.

    Attributes
    ----------
    more
        Products and own rows, as `turfmap.season.due.judged_for` takes them.
    notes
        What must be said of the weather.
    """

    known: Known
    more: Mapping[str, Any]
    notes: list[str]


def season_inputs(
    path: Path,
    *,
    as_of: date,
    given: Given,
    property_name: str | None = None,
    zone_name: str | None = None,
) -> SeasonInputs:
    """Read all that the zones of a place are judged by.

    Parameters
    ----------
    path
        The turfmap file.
    as_of
        The day asked about.
    given
        Weather given for this run.
    property_name
        Only this property.
    zone_name
        Only this zone, by its name or as ``property / zone``.

    Raises
    ------
    InputFaultsError
        If a file needs mending, or the property or zone is not there.
    """
    if not FIRST_YEAR <= as_of.year <= LAST_YEAR:
        raise input_fault(
            f"{as_of} is not a day of work", f"give one from {FIRST_YEAR} to {LAST_YEAR}"
        )
    properties, zones = chosen_zones(path, property_name, zone_name)
    asked = properties[properties["name"].isin({row["property"] for row in zones})]
    history = History(_rows(path, "client_answer"), standing_visits(path))
    return judged_by(path, zones, (asked, middles(zones), history), as_of=as_of, given=given)


def chosen_zones(
    path: Path, property_name: str | None, zone_name: str | None = None
) -> tuple[gpd.GeoDataFrame, list[Row]]:
    """Return the properties of a place and those of its zones that are asked about.

    Raises
    ------
    InputFaultsError
        If a row needs mending, the property or zone is not there, or several zones are meant.
    """
    properties = _lon_lat(geopackage.read_layer(path, "property"))
    frame = with_property(_lon_lat(geopackage.read_layer(path, "zone")), properties)
    rows = zone_rows(frame, file=str(path))
    return properties, _named(rows, property_name, zone_name, file=str(path))


@dataclass(frozen=True)
class History:
    """What was said and done: checked rows of client_answer, and visits that count."""

    answers: list[Row]
    visits: list[Row]


def judged_by(
    path: Path,
    zones: list[Row],
    around: tuple[gpd.GeoDataFrame, Mapping[str, tuple[float, float]], History],
    *,
    as_of: date,
    given: Given,
) -> SeasonInputs:
    """Return what some zones are judged by.

    Parameters
    ----------
    path
        The turfmap file.
    zones
        From `zone_rows`.
    around
        Their properties, where each of these is (`middles` of all its zones), and what was said
        and done there.
    as_of, given
        See `season_inputs`.
    """
    properties, places, history = around
    weather = place_weather(path, places, as_of=as_of, given=given)
    columns: dict[str, list[Any]] = {name: [row[name] for row in zones] for name in ZONE_COLUMNS}
    columns["cell"] = [weather.cell_of[row["property"]] for row in zones]
    own, products = own_rows(path), _rows(path, "product")
    facts = knowledge(own)
    book = _book(products, facts)
    visits = _with_rates(history.visits, book, facts)
    known = Known(columns, history.answers, visits, weather.cells)
    more = {"products": [row | _limits(book.get(row["name"])) for row in products], "own_rows": own}
    notes = [*weather.notes, *_undated(history.answers), *not_looked(properties, as_of=as_of)]
    return SeasonInputs(known, more, notes)


def _undated(answers: Sequence[Row]) -> list[str]:
    """Say of which answers nobody can tell the age, and what to do."""
    whose = [row["property"] for row in answers if not row["answered_on"]]
    whose = list(dict.fromkeys(whose))
    if not whose:
        return []
    return [
        f"Answers without the day they were given (answered_on): {few(whose)}. What they permit"
        " counts as this season's, and what they plan is taken back by no other answer. Give their"
        " rows that day, or ask again and bring the answers in with it."
    ]


def _book(products: Sequence[Row], facts: Knowledge) -> dict[str, Product]:
    """Return the products that can be read, by name."""
    book = {}
    for row in products:
        with suppress(InputFaultsError):  # a visit with a product of no use has an unknown amount
            book[row["name"]] = read_product(row, record=row["name"], known=facts)
    return book


def _limits(product: Product | None) -> dict[str, Any]:
    """Return the most of each active ingredient in a year by its label [lb per acre]."""
    if product is None:
        return {}
    limits = {one.name: limit_of_active(product, one, one.annual_max) for one in product.actives}
    known = {name: lb_per_acre(limit) for name, limit in limits.items() if limit is not None}
    return {"annual_max_lb_per_acre": known}


def _with_rates(visits: Sequence[Row], book: Mapping[str, Product], facts: Knowledge) -> list[Row]:
    """Return visits, each with how much of each active ingredient it put down [lb per acre]."""
    found = []
    for visit in visits:
        here = {"property": visit["property"], "name": visit["zone"]}
        product = book.get(visit["product"] or "")
        rates = {
            one.name: put_down.lb_per_acre
            for one in (product.actives if product else ())
            for put_down in applied_on(here, one.name, [visit], book, facts)
        }
        found.append({**visit, "rates_lb_per_acre": rates})
    return found


def _lon_lat(frame: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    # As the place does, without its mending: a middle can be had of a broken shape as well.
    return frame if frame.crs is None or frame.crs == LON_LAT else frame.to_crs(LON_LAT)


def zone_rows(frame: gpd.GeoDataFrame, *, file: str) -> list[Row]:
    """Return the zones as checked rows, each with its middle [deg]."""
    rows = as_declared(frame, "zone", file=file)
    amid = shapely.centroid(shapes_of(frame))
    places = zip(
        np.atleast_1d(shapely.get_x(amid)), np.atleast_1d(shapely.get_y(amid)), strict=True
    )
    return [
        row | {"longitude": longitude, "latitude": latitude}
        for row, (longitude, latitude) in zip(rows, places, strict=True)
    ]


def middles(zones: Iterable[Row]) -> dict[str, tuple[float, float]]:
    """Return longitude and latitude amid the zones of each property; NaN if none has a shape."""
    places: dict[str, list[tuple[float, float]]] = {}
    for row in zones:
        mine = places.setdefault(row["property"], [])
        if np.isfinite(row["latitude"]):
            mine.append((row["longitude"], row["latitude"]))
    nowhere = (float("nan"), float("nan"))
    return {
        name: (float(np.mean([x for x, _ in mine])), float(np.mean([y for _, y in mine])))
        if mine
        else nowhere
        for name, mine in places.items()
    }


def _rows(path: Path, layer_name: str) -> list[Row]:
    return as_declared(geopackage.read_layer(path, layer_name), layer_name, file=str(path))


def as_declared(frame: gpd.GeoDataFrame, layer_name: str, *, file: str) -> list[Row]:
    """Return a layer's rows as declared; another program may have written anything into them."""
    layer = map_layer(layer_name)
    raw = frame[list(layer.columns)].to_dict("records")
    records = [f"{layer_name} {fid}" for fid in frame["fid"]]
    rows, faults = checked_rows(raw, layer, file=file, records=records)
    found = [fault for mine in faults for fault in mine]
    if found:
        raise InputFaultsError(found)
    return rows


def _named(
    zones: list[Row], property_name: str | None, zone_name: str | None, *, file: str
) -> list[Row]:
    wanted = [row for row in zones if property_name in {None, row["property"]}]
    if not wanted and property_name is not None:
        raise _not_there("property", property_name, (row["property"] for row in zones), file)
    named = [row for row in wanted if zone_name in {None, row["name"], place_words(row)}]
    if not named and zone_name is not None:
        raise _not_there("zone", zone_name, map(place_words, wanted), file)
    several = list(dict.fromkeys(map(place_words, named)))
    if zone_name is not None and len(several) > 1:
        raise input_fault(
            f"there are {len(several)} zones {zone_name!r}",
            f"name one with its property: {_some(several)}",
            file=file,
        )
    return named


def _some(names: Sequence[str]) -> str:
    more = len(names) - MOST_NAMED
    return "; ".join(names[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


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
