import hashlib
import json
from pathlib import Path

import pytest

from turfmap.views import assets

ROOT = Path(__file__).parents[2]
MANIFESTS = [
    ROOT / "turfmap" / "views" / "assets" / "manifest.json",
    ROOT / "tests" / "browser" / "vendor" / "manifest.json",
]


@pytest.mark.parametrize("manifest", MANIFESTS, ids=["shipped", "for tests"])
def test_every_vendored_file_is_the_one_that_its_manifest_names(manifest: Path) -> None:
    named = {manifest}
    for package in json.loads(manifest.read_text(encoding="utf-8")):
        folder = manifest.parent / package["folder"]
        for file in package["files"]:
            content = (folder / file["file"]).read_bytes()
            assert hashlib.sha256(content).hexdigest() == file["sha256"], file["file"]
            named.add(folder / file["file"])
        assert folder / package["licence_file"] in named
        assert package["licence"]
    assert named == {path for path in manifest.parent.rglob("*") if path.is_file()}


# The conditions of BSD-2-Clause: its notice goes with every copy. spdx.org/licenses/BSD-2-Clause
def test_the_notices_that_travel_with_a_page_hold_the_conditions_of_the_licence() -> None:
    notices = assets.licences({"leaflet"})
    assert "Redistributions in binary form must reproduce the above copyright notice" in notices
    assert "leaflet 1.9.4" in notices
    assert "geoman" not in notices  # a page names what it holds, and nothing else
    assert "splaytree-ts" in assets.licences({"@geoman-io/leaflet-geoman-free"})


def test_a_vendored_style_sheet_carries_its_pictures() -> None:
    style = assets.style("leaflet", "leaflet.css")
    assert "images/" not in style
    assert style.count("url(data:image/png;base64,") == 3


def test_a_vendored_script_points_to_no_other_file_and_cannot_end_its_element() -> None:
    script = assets.script("leaflet", "leaflet.js")
    assert "sourceMappingURL" not in script
    assert "</script" not in script


def test_a_package_that_is_not_vendored_is_an_error() -> None:
    with pytest.raises(LookupError, match="no vendored copy of jquery"):
        assets.script("jquery", "jquery.js")
