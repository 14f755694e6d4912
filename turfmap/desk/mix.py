"""A load for a property or a zone: ground measured, book read, the sums of the year done."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from turfmap.days.load_sheet import Equipment, load_sheet
from turfmap.days.load_words import asks, cautions
from turfmap.days.mixes import Book, Wish, mixed
from turfmap.days.product_rows import read_product
from turfmap.days.products import Product
from turfmap.days.quantities import Rate
from turfmap.desk.area import measured
from turfmap.desk.place import Overrides, Place, read_place, with_property
from turfmap.desk.product_book import find_product, read_rows
from turfmap.foundations.definitions import Row
from turfmap.foundations.errors import InputFaultsError, input_fault
from turfmap.store import geopackage

# What a label says that a crew must know at the tank; None where it is not entered.
ON_THE_LABEL = (
    "registration_number",
    "wind_low_mph",
    "wind_high_mph",
    "air_low_f",
    "air_high_f",
    "droplet",
    "reentry_h",
    "rainfast_h",
    "reseed_wk",
    "retreat_d",
)


@dataclass(frozen=True)
class Asked:
    """Which load is wanted.

    Attributes
    ----------
    property_name, zone
        One of them at least; the zone by name, identity or as ``property / zone``.
    rate, target, day
        See `turfmap.days.mixes.Wish`.
    """

    product: str
    property_name: str | None = None
    zone: str | None = None
    rate: Rate | None = None
    target: str | None = None
    day: date | None = None


def mix(path: Path, asked: Asked, *, equipment: Equipment, overrides: Overrides) -> dict[str, Any]:
    """Work out what goes into the tank or the spreader, and where it may go.

    Returns
    -------
    dict
        ``product, is_confirmed, on``; ``loads`` (one a mix: rate, zones, exact amount, spray and
        tanks, watering in, nutrients), ``left_out`` (zones that it must not touch, with why),
        ``exact, purchase, left_over`` of all together, ``label``, ``setbacks``, ``asks`` and
        ``cautions``.

    Raises
    ------
    InputFaultsError
        If something is not there, or the load breaks a limit: a sentence each, the sum shown.
    """
    if asked.property_name is None and asked.zone is None:
        raise input_fault("neither --property nor --zone is given", "name the ground to be treated")
    product = _product(path, asked.product)
    property_name, identity = _ground(path, asked)
    place = read_place(
        path, property_name=property_name, product=asked.product, overrides=overrides
    )
    result = measured(place)[0]
    book = Book(
        _book(path, product),
        read_rows(path, "product_rate"),
        read_rows(path, "visit"),
        read_rows(path, "client_answer"),
    )
    wish = Wish(product, asked.rate, asked.target, asked.day)
    load = mixed(_zones(place, result["zones"], identity), wish, book)
    return {
        "product": product.name,
        "is_confirmed": product.is_confirmed,
        "on": asked.day and asked.day.isoformat(),
        **load_sheet(load, product, equipment),
        "label": {name: product.row[name] for name in ON_THE_LABEL},
        "setbacks": result["setbacks"],
        "asks": asks(load, product),
        "cautions": [*result["cautions"], *cautions(load, product, asked.day)],
    }


def _product(path: Path, name: str) -> Product:
    row = find_product(path, name)
    if row is None:
        raise input_fault(
            f"{name} is an active ingredient, and only a product can be measured out",
            "enter the product with turfmap import … --as product",
            file=str(path),
        )
    return read_product(row, record=name, file=str(path))


def _book(path: Path, product: Product) -> dict[str, Product]:
    """Return every product that can be read; a visit with any other has an unknown amount."""
    found = {product.name: product}
    for row in read_rows(path, "product"):
        if row["name"] == product.name:
            continue
        try:
            found[row["name"]] = read_product(row, record=row["name"])
        except InputFaultsError:
            continue
    return found


def _ground(path: Path, asked: Asked) -> tuple[str, str | None]:
    """Return the property asked for, and the identity of the zone if only one is wanted."""
    if asked.zone is None:
        return str(asked.property_name), None
    zones = with_property(
        geopackage.read_layer(path, "zone"), geopackage.read_layer(path, "property")
    )
    names = [
        (of, identity, name)
        for of, identity, name in zip(zones["property"], zones["id"], zones["name"], strict=True)
        if asked.property_name in {None, of}
    ]
    found = [
        (of, identity)
        for of, identity, name in names
        if asked.zone in {identity, name, f"{of} / {name}"}
    ]
    if len(found) == 1:
        return found[0]
    few = ", ".join(sorted(f"{of} / {name}" for of, _, name in names)[:10]) or "none yet"
    raise input_fault(
        f"there is no zone {asked.zone!r}"
        if not found
        else f"{len(found)} zones are called {asked.zone!r}",
        f"choose one as PROPERTY / ZONE ({few})",
        file=str(path),
    )


def _zones(place: Place, areas: Sequence[dict[str, Any]], identity: str | None) -> list[Row]:
    """Return the zones asked for, with what grows there and what of them may be treated."""
    species = place.zones["species"].where(place.zones["species"].notna(), None)
    return [
        {
            "property": zone["property"],
            "name": zone["zone"],
            "kind": zone["kind"],
            "species": grass,
            "treatable_m2": zone["treatable_m2"],
        }
        for zone, grass in zip(areas, species, strict=True)
        if identity in {None, zone["id"]}
    ]
