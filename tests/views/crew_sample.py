"""The invented estate of sample.py as a crew's plan for one day."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from tests.views.sample import ESTATE, ZONES, estate
from turfmap.ground.here import LocalPlane
from turfmap.views.visit_plan import PlanNoSpray, PlanThing, PlanZone, VisitPlan

ORIGIN = (-89.1985, 40.1009)
ON = "2026-10-03T08:00"
KINDS = {
    "Pond": "pond",
    "Stream": "stream",
    "Well": "well",
    "Bee hives": "hives",
    "Kitchen garden": "kitchen_garden",
    "Building": "building",
    "Drive": "drive",
}
ANSWERS = {"House lawn": "wait", "Pond lawn": "no", "Rose bed": "no"}
WHY = {
    "go": "Wind 6 mph, air 71 °F, dry for 24 h: within what the label gives.",
    "wait": "Is overseeding planned here? Nobody has asked. It would stop the seed.",
    "no": "The label does not name this grass.",
}

LOAD: dict[str, Any] = {
    "exact": {"gal": 2.5, "fl oz": 320.0, "words": "2 gal 2 qt (9.46 L)"},
    "loads": [
        {
            "rate": "3 fl oz/1000 sq ft",
            "zones": [{"zone": "Front lawn"}, {"zone": "Play lawn"}],
            "area_m2": 9900.0,
            "exact": {"words": "2 gal 2 qt (9.46 L)"},
            "spray": {
                "carrier": "1 gal/1000 sq ft",
                "volume": {"words": "107 gal (404 L)"},
                "water": {"words": "104 gal (394 L)"},
                "tanks": {
                    "tank": {"words": "100 gal (379 L)"},
                    "full": 1,
                    "each_full": {
                        "product": {"words": "2 gal 1 qt (8.5 L)"},
                        "covers_sqft": 100000.0,
                    },
                    "part": {
                        "volume": {"words": "7 gal (26 L)"},
                        "product": {"words": "22 fl oz (0.65 L)"},
                        "covers_sqft": 7000.0,
                    },
                },
            },
            "water_in": None,
        }
    ],
    "left_out": [{"zone": "Rose bed", "why": ["it is no turf"]}],
    "asks": [],
}


def flat(shape: BaseGeometry) -> BaseGeometry:
    """Return a shape in longitude and latitude on the estate's plane [m]."""
    plane = LocalPlane(*ORIGIN)
    return shapely.transform(shape, lambda lonlat: plane.flat(np.array(lonlat)))


def estate_plan(reword: Callable[[str], str] = str) -> VisitPlan:
    """Return the estate's plan; `reword` changes every text that a user could have written."""
    content = estate(reword)
    zones = [
        PlanZone(
            name=zone.name,
            kind=zone.kind_words.lower(),
            species_words=zone.species_words,
            geometry=flat(zone.geometry),
            area=zone.area,
            answer=ANSWERS.get(name, "go"),
            reasons=[reword(WHY[ANSWERS.get(name, "go")])],
            changes=[reword("An answer from the client.")] if name == "House lawn" else [],
            amount="13 fl oz (0.38 L)" if name == "Front lawn" else "",
        )
        for name, zone in zip(ZONES, content.zones, strict=True)
    ]
    return VisitPlan(
        property=reword(ESTATE),
        client=reword("Estate office"),
        address=reword("1 Larkmoor Lane"),
        state="GA",
        on=ON,
        product=reword("Broadleaf three-way"),
        origin=ORIGIN,
        surveyed_on="2026-03-02",
        weather="wind 6 mph NW, air 71 °F, coarse droplets",
        zones=zones,
        no_spray=[
            PlanNoSpray(
                KINDS[one.category_words],
                one.name,
                one.distance_m,
                one.margin_m,
                one.name == reword("Larkmoor pond"),
                flat(one.geometry),
            )
            for one in content.no_spray
        ],
        things=[
            PlanThing(
                thing.layer,
                thing.name,
                KINDS.get(thing.kind_words, ""),
                reword("Latch sticks; lift it.") if thing.layer == "gate" else "",
                flat(thing.geometry),
            )
            for thing in content.things
        ],
        load=LOAD,
        label={"registration_number": "0-1", "wind": "3 to 10 mph", "droplet": "coarse"},
        tasks=["broadleaf_post_emergent", "autumn_pre_emergent"],
        task="broadleaf_post_emergent",
        posting=["Posting (Georgia lawn sign rule): wording CAUTION / PESTICIDE APPLICATION."],
        cautions=[reword("Setbacks are from the shipped table, not from a label in hand.")],
    )


def unsurveyed_plan() -> VisitPlan:
    """Return a plan of which nobody has noted a look for water, and nothing protected is drawn."""
    plan = estate_plan()
    waiting = [replace(zone, answer="wait") for zone in plan.zones]
    return replace(plan, surveyed_on="", no_spray=[], zones=waiting, property="Bare Lot")
