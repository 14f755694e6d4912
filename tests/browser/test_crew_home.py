"""A page made from a place: it answers as the check does, and its visits come home into it."""

from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, Page

from tests.desk.checking import PLAIN, conditions, make_place
from turfmap.desk.crew_page import crew_file
from turfmap.desk.here import Position, here_inputs, stand
from turfmap.desk.record import record_from_file
from turfmap.desk.visit_plan import PlanAsked
from turfmap.foundations.errors import InputFaultsError


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_place(tmp_path_factory.mktemp("home"))


@pytest.fixture
def page(browser: Browser, place: Path, tmp_path: Path) -> Page:
    out = tmp_path / "crew.html"
    asked = PlanAsked("Clover spray", conditions())
    crew_file(place, ["Alder"], asked, out=out, overrides=PLAIN)
    opened = browser.new_page(viewport={"width": 390, "height": 844})
    opened.goto(out.as_uri())
    opened.wait_for_selector("html[data-ready]")
    return opened


def test_the_page_answers_as_the_check_does(page: Page, place: Path) -> None:
    inputs = here_inputs(place, property_name="Alder", product="Clover spray", overrides=PLAIN)
    rng = np.random.default_rng(9)
    west, south, east, north = inputs.box
    lonlat = rng.uniform([west, south], [east, north], (1_500, 2))
    accuracy_m = rng.choice([0.0, 2.0, 5.0, 40.0], 1_500)
    truth = stand(
        [Position(x, y, float(m)) for (x, y), m in zip(lonlat, accuracy_m, strict=True)],
        inputs,
    )
    shown = page.evaluate(
        """([lonlat, accuracy]) => lonlat.map((one, i) => {
          const [place] = turfmap.crew.places;
          const [x, y] = place.at(...one);
          const found = turfmap.verdict(place, { x, y, accuracy: accuracy[i] });
          const feet = Number.isFinite(found.distance) ? turfmap.verdict.wholeFeet(found) : null;
          return [found.state, feet, found.zone ? found.zone.name : null];
        })""",
        [lonlat.tolist(), accuracy_m.tolist()],
    )
    states = [one["state"] for one in truth]
    assert {"stop", "unsure", "outside"} <= set(states)
    differs = [
        at
        for at, ((state, feet, zone), told) in enumerate(zip(shown, truth, strict=True))
        # A millimetre of rounding may tip a whole foot.
        if state != told["state"]
        or zone != told["zone"]
        or abs((feet or 0) - (told["distance_ft"] or 0)) > 1
    ]
    # Nor may more than a few lie so near a limit that a millimetre decides.
    assert len(differs) <= 2, [(shown[at], truth[at]) for at in differs[:3]]


def test_a_visit_comes_home_once_however_often_its_file_does(
    page: Page, place: Path, tmp_path: Path
) -> None:
    page.locator("#visit-task").select_option("broadleaf_post_emergent")
    for name, value in {
        "start": "08:10",
        "end": "08:55",
        "by": "A. Applicator",
        "licence": "12345",
        "customer": "Somebody Else",
        "address": "1 Lane",
        "registration": "0-1",
        "amount": "10",
        "wind": "6",
        "air": "71",
    }.items():
        page.locator(f"#visit-{name}").fill(value)
    page.locator("#visit-unit").select_option("fl oz")
    page.locator("#visit-signed").check()
    page.get_by_role("button", name="Keep this visit").click()
    with page.expect_download() as download:
        page.get_by_role("button", name="Bring home as a file").click()
    file = Path(tmp_path / download.value.suggested_filename)
    download.value.save_as(file)
    [made] = record_from_file(place, file)["records"]
    assert made["missing"] == []
    assert made["zones"][0]["zone"] == "Front"
    assert made["zones"][0]["amount"] == 10.0
    again = record_from_file(place, file)
    assert again["records"] == []
    assert again["already"] == [made["record"]]
    file.write_text(file.read_text("utf-8").replace("10 fl oz", "11 fl oz"), encoding="utf-8")
    with pytest.raises(InputFaultsError, match="is here already and says otherwise"):
        record_from_file(place, file)
