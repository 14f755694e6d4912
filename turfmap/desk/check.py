"""May these zones be treated now, with this? Go, wait or no, and all that was looked at."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import shapely

from turfmap.days.conditions import USUAL_ARC_DEG, Case, Conditions
from turfmap.days.knowledge import Knowledge, knowledge
from turfmap.days.may_treat import may_treat, tables
from turfmap.days.mixes import Book
from turfmap.days.product_rows import read_product
from turfmap.days.products import Active, Product, split
from turfmap.days.treat_records import STATE_LETTERS
from turfmap.desk.area import measured
from turfmap.desk.check_asked import POINT_DEG, POINTS
from turfmap.desk.check_clock import refuse_other_clock
from turfmap.desk.check_season import SeasonSays, season_says
from turfmap.desk.check_weather import with_forecast
from turfmap.desk.frame_shapes import shapes_of
from turfmap.desk.mix import ON_THE_LABEL
from turfmap.desk.own_rows import own_rows
from turfmap.desk.place import Place, read_place
from turfmap.desk.place_in_wind import in_wind
from turfmap.desk.product_book import find_product, read_rows
from turfmap.desk.protected import Overrides
from turfmap.desk.record_duties import entry_words, posting
from turfmap.desk.standing_visits import standing_visits
from turfmap.desk.weather import Given
from turfmap.foundations.dates import iso_date
from turfmap.foundations.definitions import Row, map_layer, table
from turfmap.foundations.errors import InputFaultsError, input_fault
from turfmap.foundations.units import area_words
from turfmap.ground.downwind import Wind
from turfmap.store import geopackage

LAST_WORD = "The label, local rules and a licensed person decide."
NOTHING_SAID = SeasonSays((), ())


@dataclass(frozen=True)
class CheckAsked:
    """What is asked.

    Attributes
    ----------
    property_name
        The property; None: the only one of the file.
    product
        What would be applied: a product of the book, or an active ingredient.
    conditions
        What is known of the hour.
    zone
        Only this zone, by name or identity.
    weather_file, forecast_file
        As for `turfmap.desk.due.due`; an hourly forecast also tells of the hour of the work.
    """

    property_name: str | None
    product: str
    conditions: Conditions = field(default_factory=Conditions)
    zone: str | None = None
    weather_file: Path | None = None
    forecast_file: Path | None = None


def check(path: Path, asked: CheckAsked, *, overrides: Overrides) -> dict[str, Any]:
    """Judge whether zones may be treated; nothing is written.

    Returns
    -------
    dict
        ``property, product, is_confirmed, confirmed_on, on, given``, ``zones`` (each with
        ``answer``, ``reasons``, ``would_change``, ``asked``, ``mind``, ``sources``,
        ``conditions``, its areas and their causes), ``keep_off``, ``posting``, ``school``,
        ``setbacks``, ``label``, ``wind_words``, ``cautions`` and ``last_word``.

    Raises
    ------
    InputFaultsError
        If something is not there, or a file needs mending.
    """
    conditions, notes = with_forecast(asked.conditions, asked.forecast_file)
    with geopackage.reading(path):
        return _check(path, asked, (conditions, notes), overrides=overrides)


def _check(
    path: Path,
    asked: CheckAsked,
    of_the_hour: tuple[Conditions, list[str]],
    *,
    overrides: Overrides,
) -> dict[str, Any]:
    """Judge on one snapshot of the file."""
    conditions, notes = of_the_hour
    own = own_rows(path)
    known = knowledge(own)
    product, in_book = _product(path, asked.product, known)
    name = asked.property_name or _only_property(path)
    place = read_place(path, property_name=name, product=asked.product, overrides=overrides)
    refuse_other_clock(conditions, place)
    place = in_wind(place, wind_of(conditions))
    result, _ = measured(place)
    season: dict[str, SeasonSays] = {}
    if conditions.day is not None:
        given = Given(asked.weather_file, asked.forecast_file)
        season, said = season_says(
            path, product, day=conditions.day, given=given, known=known, property_name=name
        )
        notes += said
    about = _about(place.properties)
    book = _book(path, product, known, name)
    case = Case(conditions, {}, product, book, tables(own), in_book, **about)
    zones = [
        _judged(zone, row, place, case, season.get(zone["zone"], NOTHING_SAID))
        for zone, row in _chosen(result["zones"], place.zones, asked.zone, file=str(path))
    ]
    return {
        "property": name,
        "product": product.name,
        "is_confirmed": product.is_confirmed,
        "confirmed_on": _iso(product.row["confirmed_on"]),
        "on": conditions.on and conditions.on.isoformat(timespec="minutes"),
        "given": _given(conditions),
        "zones": zones,
        **_duties(product, case, place),
        "setbacks": _setbacks(place),
        "label": {column: product.row[column] for column in ON_THE_LABEL},
        "wind_words": wind_words(conditions),
        "cautions": list(dict.fromkeys([*result["cautions"], *notes])),
        "last_word": LAST_WORD,
    }


def wind_of(conditions: Conditions) -> Wind | None:
    """Return the wind that downwind ground is drawn for; None: all round.

    A wind too light to keep its way has none, and so has air that lies in layers.
    """
    bearing, wind_mph = conditions.wind_from_deg, conditions.wind_mph
    limits = {row["limit"]: float(row["value"]) for row in table("spray_weather").rows}
    if bearing is None or wind_mph is None or wind_mph < limits["wind_least"]:
        return None
    if conditions.inversion == "suspected":
        return None
    arc_deg = USUAL_ARC_DEG if conditions.arc_deg is None else conditions.arc_deg
    return Wind(bearing, arc_deg)


def wind_words(conditions: Conditions) -> str:
    """Say how distances that hold downwind only are kept."""
    wind = wind_of(conditions)
    if wind is None or wind.is_all_round:
        return "Distances that hold downwind only are kept all round."
    return (
        f"Distances that hold downwind only are kept for wind from {point_of(wind.from_deg)},"
        f" swinging through {wind.arc_deg:g} degrees; all others all round. If the wind turns,"
        " check again."
    )


def point_of(bearing_deg: float) -> str:
    """Return the point of the compass, of sixteen, nearest to a bearing [deg]."""
    return POINTS[round(bearing_deg / POINT_DEG) % len(POINTS)]


def _iso(day: Any) -> str | None:
    return None if day is None else str(day.isoformat())


def _given(conditions: Conditions) -> dict[str, Any]:
    found = asdict(conditions)
    bearing = conditions.wind_from_deg
    arc_deg = USUAL_ARC_DEG if conditions.arc_deg is None else conditions.arc_deg
    times = {"on", "school_notice_on"}
    plain = {
        key: value and value.isoformat(timespec="minutes")
        for key, value in found.items()
        if key in times
    }
    wind_from = None if bearing is None else point_of(bearing)
    return found | plain | {"wind_from": wind_from, "arc_deg": arc_deg}


def _product(path: Path, name: str, known: Knowledge) -> tuple[Product, bool]:
    """Return the product and whether it is in the book; else a bare active ingredient."""
    row = find_product(path, name)
    if row is not None:
        return read_product(row, record=name, file=str(path), known=known), True
    bare = dict.fromkeys(map_layer("product").columns) | {"name": name}
    return Product(bare, (Active(name),)), False


def _only_property(path: Path) -> str:
    names = list(geopackage.read_layer(path, "property")["name"])
    if len(names) != 1:
        raise input_fault("the property is not named", "give --property", file=str(path))
    return str(names[0])


def _book(path: Path, product: Product, known: Knowledge, property_name: str) -> Book:
    """Return products, rates, visits and answers; a row of no use leaves its product unknown."""
    products = {product.name: product}
    for row in read_rows(path, "product"):
        try:
            products.setdefault(row["name"], read_product(row, record=row["name"], known=known))
        except InputFaultsError:
            continue
    visits, answers = (
        [row for row in rows if row["property"] == property_name]
        for rows in (standing_visits(path), read_rows(path, "client_answer"))
    )
    return Book(products, read_rows(path, "product_rate"), visits, answers, known)


def _about(properties: gpd.GeoDataFrame) -> dict[str, Any]:
    """Return where the property lies and when somebody looked round it."""
    if properties.empty:
        return {"states": (), "surveyed_on": None}
    row = properties.iloc[0]
    state, looked_on = row["state"], row["water_surveyed_on"]
    return {
        "states": split(state) if isinstance(state, str) else (),
        "surveyed_on": iso_date(looked_on, record="water_surveyed_on")
        if isinstance(looked_on, str)
        else None,
    }


def _chosen(
    zones: Sequence[dict[str, Any]], frame: gpd.GeoDataFrame, wanted: str | None, *, file: str
) -> list[tuple[dict[str, Any], Any]]:
    pairs = list(zip(zones, frame.itertuples(), strict=True))
    if wanted is None:
        return pairs
    found = [pair for pair in pairs if wanted in {pair[0]["zone"], pair[0]["id"]}]
    if not found:
        few = ", ".join(sorted(str(zone["zone"]) for zone in zones)[:10]) or "none yet"
        raise input_fault(f"there is no zone {wanted!r}", f"choose one of {few}", file=file)
    return found


def _judged(
    zone: dict[str, Any], row: Any, place: Place, case: Case, season: SeasonSays
) -> dict[str, Any]:
    """Return one zone's answer with its areas."""
    middle = None if row.geometry is None else shapely.centroid(row.geometry)
    x, y = (shapely.get_x(middle), shapely.get_y(middle)) if middle else (np.nan, np.nan)
    species = row.species if isinstance(row.species, str) else None
    facts: Row = {
        "property": zone["property"],
        "name": zone["zone"],
        "kind": zone["kind"],
        "species": species,
        "treatable_m2": zone["treatable_m2"],
        "longitude": float(x),
        "latitude": float(y),
        "lost_words": _lost_words(zone),
        "school": _school(place, row.geometry),
        "drawn": frozenset(place.protected["category"]),
    }
    found = may_treat(replace(case, zone=facts, season=season.holds))
    mind = [*found["mind"], *season.mind]
    return zone | {"species": species} | found | {"mind": mind}


def _lost_words(zone: Mapping[str, Any]) -> str:
    if not zone["gross_m2"]:
        return "it has no shape"
    parts = []
    if zone["no_spray_m2"] > 0.0:
        names = [f"{one['category'].replace('_', ' ')} {one['name']}" for one in zone["causes"]]
        few = ", ".join(dict.fromkeys(names[:3]))
        parts.append(f"no-spray ground takes {area_words(zone['no_spray_m2'])} ({few})")
    if zone["obstacle_m2"] > 0.0:
        parts.append(f"obstacles take {area_words(zone['obstacle_m2'])}")
    return f"of {area_words(zone['gross_m2'])}, {' and '.join(parts)}"


def _school(place: Place, shape: Any) -> str:
    """Tell whether a school lies on the property or the zone, or near."""
    schools = shapes_of(place.protected[place.protected["category"] == "school"])
    ground = [shape, *shapes_of(place.properties)]
    for each in ground:
        if (shapely.intersects(schools, each) & ~shapely.touches(schools, each)).any():
            return "on"
    return "near" if schools.size else ""


def _duties(product: Product, case: Case, place: Place) -> dict[str, Any]:
    """Return what has to be done besides: staying off, signs, a word to the school."""
    schools = place.protected["name"][place.protected["category"] == "school"]
    school = [
        f"A school lies on this ground or near it: {name}." for name in dict.fromkeys(schools)
    ]
    day = case.conditions.day
    reentry_h = product.row["reentry_h"]
    hours = "as long as the label says" if reentry_h is None else f"{reentry_h:g} h as entered,"
    keep_off = (
        f"Keep people and pets off {hours} from the end of the work, and at least until it has"
        " dried; with two products the longer time counts."
        if day is None
        else entry_words(day, None, reentry_h)
    )
    return {
        "keep_off": keep_off,
        "posting": _signs(case.states),
        "school": school,
    }


def _signs(states: Sequence[str]) -> list[str]:
    """Return the rules on signs of every state that the property lies in."""
    # Behind the first may stand counties and cities, whose rules no table holds.
    letters = [state for state in states[1:] if len(state) == STATE_LETTERS]
    found = [line for state in (*states[:1], *letters) for line in posting(state)]
    return list(dict.fromkeys(found)) or posting(None)


def _setbacks(place: Place) -> list[dict[str, Any]]:
    return [
        {
            "category": used.category,
            "distance_m": used.distance_m,
            "all_round_m": used.kept_all_round_m,
            "downwind_only": used.kept_all_round_m < used.distance_m,
            "source": used.source,
            "is_unverified": used.unverified,
        }
        for used in place.setbacks.values()
    ]
