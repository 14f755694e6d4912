"""A load for zones, properties or a day: ground measured, book read, sums of the year done."""

from collections.abc import Sequence, Set
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from turfmap.days.knowledge import Knowledge, knowledge
from turfmap.days.load_sheet import Equipment, load_sheet
from turfmap.days.load_words import asks, cautions
from turfmap.days.mixes import Book, Wish, mixed
from turfmap.days.product_rows import read_product
from turfmap.days.products import Product
from turfmap.days.quantities import Rate
from turfmap.desk.area import measured
from turfmap.desk.mix_ground import Wanted, chosen_ground
from turfmap.desk.own_rows import own_rows
from turfmap.desk.place import Place, read_place
from turfmap.desk.product_book import find_product, read_rows
from turfmap.desk.protected import Overrides
from turfmap.desk.standing_visits import standing_visits
from turfmap.foundations.definitions import Row
from turfmap.foundations.errors import InputFaultsError, input_fault

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
    properties, zones, task, day
        See `turfmap.desk.mix_ground.Wanted`.
    rate, target
        See `turfmap.days.mixes.Wish`.
    """

    product: str
    properties: tuple[str, ...] = ()
    zones: tuple[str, ...] = ()
    rate: Rate | None = None
    target: str | None = None
    day: date | None = None
    task: str | None = None


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
    known = knowledge(own_rows(path))
    product = _product(path, asked.product, known)
    wanted = Wanted(asked.properties, asked.zones, asked.task, asked.day)
    ground = chosen_ground(path, wanted, product, known)
    place = read_place(
        path, property_name=ground.property_name, product=asked.product, overrides=overrides
    )
    result = measured(place)[0]
    book = Book(
        _book(path, product, known),
        read_rows(path, "product_rate"),
        standing_visits(path),
        read_rows(path, "client_answer"),
        known,
    )
    wish = Wish(product, asked.rate, asked.target, asked.day)
    load = mixed(_zones(place, result["zones"], ground.identities), wish, book)
    sheet = load_sheet(load, product, equipment)
    return {
        "product": product.name,
        "is_confirmed": product.is_confirmed,
        "on": asked.day and asked.day.isoformat(),
        **sheet,
        "left_out": [*sheet["left_out"], *ground.waiting],
        "label": {name: product.row[name] for name in ON_THE_LABEL},
        "setbacks": result["setbacks"],
        "asks": asks(load, product),
        "cautions": [*result["cautions"], *cautions(load, product, asked.day, known)],
    }


def _product(path: Path, name: str, known: Knowledge) -> Product:
    row = find_product(path, name)
    if row is None:
        raise input_fault(
            f"{name} is an active ingredient, and only a product can be measured out",
            "enter the product with turfmap import … --as product",
            file=str(path),
        )
    return read_product(row, record=name, file=str(path), known=known)


def _book(path: Path, product: Product, known: Knowledge) -> dict[str, Product]:
    """Return every product that can be read; a visit with any other has an unknown amount."""
    found = {product.name: product}
    for row in read_rows(path, "product"):
        if row["name"] == product.name:
            continue
        try:
            found[row["name"]] = read_product(row, record=row["name"], known=known)
        except InputFaultsError:
            continue
    return found


def _zones(place: Place, areas: Sequence[dict[str, Any]], identities: Set[str]) -> list[Row]:
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
        if zone["id"] in identities
    ]
