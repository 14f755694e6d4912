import base64
import hashlib
import json
import re
from dataclasses import replace
from itertools import product
from typing import Any

import numpy as np
import pytest
import shapely

from tests.views.crew_sample import estate_plan, unsurveyed_plan
from tests.views.read_page import PageReader
from turfmap.foundations.definitions import table
from turfmap.views import assets
from turfmap.views.crew_page import LANGUAGES, crew_page, parts_in_millimetres, words

TITLE = "Larkmoor House, 3 Oct 2026"


def test_a_property_fits_a_message_and_the_same_plan_gives_the_same_bytes() -> None:
    page = crew_page([estate_plan()], title=TITLE)
    assert len(page.encode()) <= 300_000
    assert page == crew_page([estate_plan()], title=TITLE)


def test_nothing_is_fetched_and_only_the_pages_own_scripts_run() -> None:
    page = crew_page([estate_plan(), unsurveyed_plan()], title=TITLE)
    read = PageReader(page)
    assert read.attributes("src") == read.attributes("href") == []
    assert "url(" not in page.partition("<body>")[0]
    [policy] = [attrs["content"] for tag, attrs in read.elements if "http-equiv" in attrs]
    allowed = set(re.findall(r"'sha256-([^']+)'", policy))
    # W3C Content Security Policy 3, 2.3.1: the base64 of the script's SHA-256.
    assert allowed == {
        base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
        for script in read.scripts
    }
    assert "default-src 'none'" in policy


def test_shapes_come_back_from_their_steps_to_half_a_millimetre() -> None:
    holed = shapely.box(-90.1234, 5, 20, 30).difference(shapely.box(0, 10, 5, 15))
    shape = shapely.union_all(
        [holed, shapely.LineString([(40, 1), (41, 2.5)]), shapely.Point(9, -7)]
    )
    found: dict[int, list[Any]] = {0: [], 1: [], 2: []}
    for kind, steps in parts_in_millimetres(shape):
        found[kind].append(np.cumsum(np.reshape(steps, (-1, 2)), axis=0) / 1_000.0)
    shell, hole = sorted((shapely.Polygon(ring) for ring in found[2]), key=lambda ring: -ring.area)
    assert shell.difference(hole).hausdorff_distance(holed) < 0.0008
    assert found[1][0].tolist() == [[40.0, 1.0], [41.0, 2.5]]
    assert found[0][0].tolist() == [[9.0, -7.0]]
    assert parts_in_millimetres(shapely.Polygon()) == []


def texts(language: str) -> dict[str, str]:
    found: dict[str, str] = words(language)["texts"]
    return found


def test_every_language_says_everything_with_the_same_facts_in_it() -> None:
    for name, text in texts("en").items():
        for language in LANGUAGES:
            other = texts(language)[name]
            assert other.strip(), (language, name)
            assert set(re.findall(r"\{\w+\}", other)) == set(re.findall(r"\{\w+\}", text)), name
    assert all(texts(language).keys() == texts("en").keys() for language in LANGUAGES)
    assert all(len(words(one)["cautions"]) == len(words("en")["cautions"]) for one in LANGUAGES)
    assert len(texts("es")["months"].split()) == 12


def test_every_kind_on_a_page_has_a_word_in_every_language() -> None:
    tables = ("water_kind", "sensitive_kind", "obstacle_kind", "zone_kind")
    kinds = {row["kind"] for name in tables for row in table(name).rows}
    for language in LANGUAGES:
        assert kinds <= words(language)["kinds"].keys()


def test_every_text_that_a_script_asks_for_is_there_and_every_text_is_asked_for() -> None:
    names = ("texts", "readout", "lists", "visit_form", "start", "plan")
    scripts = "".join(assets.own_page(f"crew/{name}.js") for name in names)
    body = assets.own_page("crew/body.html")
    asked = set(re.findall(r'say\("(\w+)"', scripts)) | set(
        re.findall(r'data-(?:words|label)="(\w+)"', body)
    )
    assert asked <= texts("en").keys()
    made = ["state_", "advice_", "said_", "to_", "answer_", "key_", "layer_", "label_", "visit_"]
    quoted = set(re.findall(r'"(\w+)"', scripts))
    unused = {
        name
        for name in texts("en").keys() - asked - quoted - {"months"}
        if not name.startswith(tuple(made))
    }
    assert unused == set()


# No text of the page permits: none says that ground is safe, or that one may treat there.
@pytest.mark.parametrize("language", LANGUAGES)
def test_outside_is_never_worded_as_permission(language: str) -> None:
    said = " ".join(
        text.lower() for name, text in texts(language).items() if name.endswith("outside")
    )
    words_of_permission = ("safe", "may ", "allowed", " ok", "seguro", "puede", "permitido")
    assert not any(word in said for word in words_of_permission)
    assert texts("en")["advice_outside"] == "Outside no-spray: the label and your eyes decide."


def luminance(colour: str) -> float:
    """Return the relative luminance of WCAG 2.2."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


# WCAG 2.2, success criterion 1.4.6: 7:1.
def test_each_pair_of_ink_and_ground_is_readable_in_the_sun() -> None:
    colours = dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", assets.own_page("crew/crew.css")))
    names = [name.removesuffix("-ink") for name in colours if f"{name[:-4]}-ground" in colours]
    assert {"stop", "unsure", "outside", "go", "wait", "no", "button"} <= set(names)
    pairs = [(colours[f"{name}-ink"], colours[f"{name}-ground"]) for name in names]
    pairs += [
        (colours[ink], colours[on]) for ink, on in product(("ink", "soft-ink"), ("sheet", "paper"))
    ]
    for ink, ground in pairs:
        dark, bright = sorted((luminance(ink), luminance(ground)))
        assert (bright + 0.05) / (dark + 0.05) >= 7, (ink, ground)


def test_the_page_holds_what_a_crew_needs() -> None:
    data: dict[str, Any] = json.loads(
        PageReader(crew_page([estate_plan()], title=TITLE)).data["map-data"]
    )
    [place] = data["places"]
    assert {cause["category"] for cause in place["causes"]} >= {"pond", "well", "hives"}
    assert {thing["layer"] for thing in place["things"]} >= {"gate", "obstacle"}
    [load] = place["load"]["loads"]
    assert [tank["count"] for tank in load["tanks"]] == [1, 1]
    assert place["zones"][0]["amount"] == "13 fl oz (0.38 L)"


def test_a_page_of_no_property_cannot_be_made() -> None:
    with pytest.raises(ValueError, match="without a property"):
        crew_page([], title=TITLE)


def test_an_answer_is_written_on_ground_that_it_is_true_of() -> None:
    """Seen on the demo: GO on the cross-hatch round a garden, in the middle of a lawn."""
    plan = estate_plan()
    zone = replace(plan.zones[0], geometry=shapely.box(0.0, 0.0, 40.0, 20.0), rank=5)
    garden = replace(plan.no_spray[0], geometry=shapely.box(10.0, -5.0, 30.0, 25.0))
    bed = replace(zone, name="Bed", geometry=shapely.box(31.0, 1.0, 39.0, 19.0), rank=1)
    lost = replace(zone, name="Lost", geometry=shapely.box(12.0, 2.0, 20.0, 9.0))
    tried = replace(plan, zones=[zone, bed, lost], no_spray=[garden], things=[])
    on_lawn, on_bed, on_lost = tried.label_places()
    assert shapely.contains(shapely.box(0.0, 0.0, 10.0, 20.0), on_lawn)
    assert shapely.contains(bed.geometry, on_bed)
    assert shapely.contains(lost.geometry, on_lost)
