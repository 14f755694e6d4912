"""The round of the demo: sixty invented client properties, drawn lot by lot.

Zones of a lot that touch share their vertices, so they cannot overlap.
"""

import math

from demo.drawing import Chance, Layers, blob, crown, line, point, polygon
from demo.streets import VERGE_M, Lot, lots

# Zones are drawn this far inside the lot line, as a person draws them.
INSET_M = 0.6

SPECIES = (
    "bermuda",
    "zoysia",
    "centipede",
    "st_augustine",
    "tall_fescue",
    "perennial_ryegrass",
    "",
)
SPECIES_SHARE = (0.33, 0.20, 0.13, 0.08, 0.14, 0.02, 0.10)
SHADES = ("full_sun", "light_shade", "partial_shade", "deep_shade", "")
SHADE_SHARE = (0.45, 0.25, 0.15, 0.05, 0.10)
BED_TYPES = (
    "old_wood_shrubs",
    "new_wood_shrubs",
    "foliage_shrubs",
    "shrubs",
    "roses",
    "perennials",
    "tender_perennials",
    "ornamental_grass",
    "mulch",
)
PLANNED_DATES = ("2026-09-28", "2026-10-01", "2026-10-05", "2026-10-09", "2026-10-14")


def clients(chance: Chance) -> Layers:
    """Return the rows of the round by layer."""
    layers: Layers = {}
    for number, lot in enumerate(lots(chance, layers), start=1):
        _draw(lot, f"Client {number:02d}")
    _stream(layers, chance)
    return layers


def _draw(lot: Lot, client: str) -> None:
    front = lot.front
    along = [front * i / 12 for i in range(13)]
    kerb = [(s, 0.0) for s in along]
    back = [(s, lot.depth(s)) for s in reversed(along)]
    surveyed = lot.chance.one_of(("2026-02-17", "2026-03-09", "2026-05-04", ""))
    lot.add(
        "property",
        polygon(lot.world([*kerb, *back])),
        name=lot.name,
        client=client,
        address=lot.name,
        state="GA",
        water_surveyed_on=surveyed,
    )
    _draw_house(lot)
    _draw_lawns(lot)
    _draw_neighbourhood(lot)
    _draw_water(lot)
    _draw_trees(lot)
    _draw_answers(lot, client)


def _draw_house(lot: Lot) -> None:
    """Draw house and drive as obstacles; they lie inside the lawns and are cut out of them."""
    chance = lot.chance
    middle, back = lot.front * 0.47, _house_line(lot)
    half, deep = min(lot.front * 0.28, 9.0), chance.between(4.0, 5.5)
    wing = chance.between(1.5, 3.5)
    house = [
        (middle - half, back - deep),
        (middle + half * 0.2, back - deep),
        (middle + half * 0.2, back - deep - wing),
        (middle + half, back - deep - wing),
        (middle + half, back + deep),
        (middle - half, back + deep),
    ]
    lot.add(
        "obstacle",
        polygon(lot.world(house)),
        name="House",
        kind="building",
        height_m=round(chance.between(5, 9), 1),
    )
    lane = middle + half * 0.75
    drive = [(lane, -VERGE_M + 3), (lane + 0.4, back * 0.4), (lane, back - deep - wing + 0.5)]
    lot.add(
        "obstacle",
        line(lot.world(drive)),
        name="Drive",
        kind="drive",
        width_m=round(chance.between(2.8, 4.5), 1),
    )
    if chance.happens(0.3):
        deck = [
            (middle - 3, back + deep),
            (middle + 3, back + deep),
            (middle + 3, back + deep + 3),
            (middle - 3, back + deep + 3),
        ]
        lot.add("obstacle", polygon(lot.world(deck)), name="Deck", kind="deck")


def _house_line(lot: Lot) -> float:
    """Return how far back the middle of the house stands [m]."""
    return 0.42 * min(lot.depths)


def _draw_lawns(lot: Lot) -> None:
    """Draw the front and back lawn, a bed cut out of each, and sometimes a border."""
    chance, front = lot.chance, lot.front
    inner = [INSET_M + (front - 2 * INSET_M) * i / 12 for i in range(13)]
    phase = chance.between(0, 2 * math.pi)
    middle = [(s, _house_line(lot) + 0.8 * math.sin(phase + 0.4 * s)) for s in inner]
    kerb = [(s, INSET_M + 0.25 * math.sin(phase + 0.7 * s)) for s in inner]
    far = [(s, lot.depth(s) - INSET_M) for s in inner]
    species = chance.one_of(SPECIES, SPECIES_SHARE)
    front_bed = blob(chance, (front * 0.25, _house_line(lot) * 0.3), (front * 0.11, 1.6))
    lot.add_zone("Front bed", front_bed, **_bed(chance))
    lot.add_zone("Front lawn", [*kerb, *middle[::-1]], front_bed, **_turf(chance, species))
    back_species = species if chance.happens(0.7) else chance.one_of(SPECIES, SPECIES_SHARE)
    if chance.happens(0.6):
        reach = chance.between(2.5, 4.5)
        edge = [(s, lot.depth(s) - reach - 0.9 * math.sin(phase + 0.5 * s)) for s in inner]
        lot.add_zone("Back border", [*edge, *far[::-1]], **_bed(chance))
        far = edge
    holes = []
    if chance.happens(0.4):
        island = blob(chance, (front * 0.72, _between_house_and_back(lot, 0.62)), (2.6, 1.8))
        lot.add_zone("Island bed", island, **_bed(chance))
        holes.append(island)
    lot.add_zone("Back lawn", [*middle, *far[::-1]], *holes, **_turf(chance, back_species))


def _between_house_and_back(lot: Lot, share: float) -> float:
    house = _house_line(lot) + 6
    return house + share * (min(lot.depths) - 6 - house)


def _turf(chance: Chance, species: str) -> dict[str, object]:
    return {
        "kind": "turf",
        "species": species,
        "shade": chance.one_of(SHADES, SHADE_SHARE),
        "soil": chance.one_of(("sandy_loam", "loam", "clay", "")),
        "irrigated": chance.happens(0.5),
    }


def _bed(chance: Chance) -> dict[str, object]:
    return {
        "kind": "bed",
        "bed_type": chance.one_of(BED_TYPES),
        "shade": chance.one_of(SHADES, SHADE_SHARE),
    }


def _draw_neighbourhood(lot: Lot) -> None:
    """Draw what to keep clear of; each lot has some of it."""
    chance, front = lot.chance, lot.front
    back = _between_house_and_back(lot, 0.4)
    spots = {
        "playground": ("Play area", 0.18, (front * 0.3, back), 3.0),
        "pet_area": ("Dog run", 0.10, (front * 0.85, back + 2), 2.0),
        "kitchen_garden": ("Vegetable patch", 0.12, (front * 0.5, back + 4), 3.0),
        "hives": ("Hives", 0.05, (front * 0.9, max(lot.depths) + 3), 0.0),
        "neighbour_request": ("Neighbour asks for distance", 0.10, (-2.0, back), 0.0),
    }
    for kind, (name, share, place, size) in spots.items():
        if chance.happens(share):
            ring = blob(chance, place, (size, size * 0.8))
            shape = polygon(lot.world(ring)) if size else point(lot.bend(*place))
            lot.add(
                "sensitive_site",
                shape,
                name=f"{name}, {lot.name}",
                kind=kind,
                edge_known_by="digitised",
            )


def _draw_trees(lot: Lot) -> None:
    chance, front = lot.chance, lot.front
    for tree in range(int(chance.between(1, 4))):
        place = lot.bend(chance.between(0, front), chance.between(0, min(lot.depths)))
        height = chance.between(6, 24)
        lot.add(
            "canopy",
            polygon(crown(place, height * 0.25)),
            name=f"Tree {tree + 1}, {lot.name}",
            height_m=round(height, 1),
            deciduous=chance.happens(0.7),
        )
    if chance.happens(0.4):
        gate = lot.bend(INSET_M, _house_line(lot))
        lot.add(
            "gate",
            point(gate),
            name=f"Side gate, {lot.name}",
            width_m=round(chance.between(0.9, 1.5), 2),
        )


def _draw_water(lot: Lot) -> None:
    chance, front = lot.chance, lot.front
    back = _between_house_and_back(lot, 0.4)
    if chance.happens(0.09):
        ring = blob(chance, (front * 0.6, back + 5), (3.6, 2.6))
        lot.add(
            "water",
            polygon(lot.world(ring)),
            name=f"Garden pond, {lot.name}",
            kind="pond",
            edge_known_by="digitised",
        )
    if chance.happens(0.12):
        well = lot.bend(front * 0.15, back)
        lot.add("water", point(well), name=f"Well, {lot.name}", kind="well", edge_known_by="gps")
    if chance.happens(0.15):
        drain = lot.bend(front * 0.95, -2.0)
        lot.add(
            "water",
            point(drain),
            name=f"Storm drain, {lot.name}",
            kind="drain_inlet",
            edge_known_by="gps",
        )


def _stream(layers: Layers, chance: Chance) -> None:
    """Draw the one stream of the town, behind the first street."""
    wiggle = chance.between(0, 2 * math.pi)
    course = [(385 + 12.0 * i, 9 + 3.8 * i + 4 * math.sin(wiggle + 0.9 * i)) for i in range(20)]
    layers["water"].append(
        {
            "name": "Wren branch",
            "kind": "stream",
            "width_m": 2.0,
            "edge_known_by": "digitised",
            "geometry": line(course),
        }
    )


def _draw_answers(lot: Lot, client: str) -> None:
    """Say what the client answered on overseeding; most were not asked yet."""
    chance = lot.chance
    answer = chance.one_of(("planned", "none", "done", ""), (0.18, 0.22, 0.04, 0.56))
    if answer:
        row = {
            "property": lot.name,
            "question": "overseeding",
            "answer": answer,
            "answered_on": chance.one_of(("2026-08-20", "2026-08-27", "2026-09-03", "2026-09-17")),
            "told_by": client,
        }
        if answer == "planned":
            row["date"] = chance.one_of(PLANNED_DATES)
        if answer == "done":
            row["date"] = "2026-09-19"
            row["answered_on"] = "2026-09-21"
        lot.layers.setdefault("client_answer", []).append(row)
