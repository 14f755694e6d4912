"""``turfmap record`` as people type it."""

import json
from pathlib import Path

import pytest

from tests.doors.test_cli import LAWN, turfmap

SAID = ["record", "place.gpkg", "--property", "Alder", "--zone", "Front", "--date", "2026-09-25"]
SPRAYED = [*SAID, "--task", "broadleaf_post_emergent", "--product", "2,4-D", "--amount", "8 fl oz"]
WHO = ["--by", "Somebody", "--licence", "7", "--start", "08:10", "--end", "08:55"]
OFFICE = ["--customer", "Client 7", "--address", "1 Lane", "--registration", "0-1"]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "lawn.csv").write_text(LAWN)
    turfmap("new", "place.gpkg", cwd=tmp_path)
    turfmap("import", "place.gpkg", "lawn.csv", "--as", "zone", cwd=tmp_path)
    return tmp_path


def test_record_correct_list_and_hand_out(folder: Path) -> None:
    refused = turfmap(*SPRAYED, cwd=folder, status=2).stderr.splitlines()
    assert len(refused) == 6
    assert all("is missing" in line for line in refused)
    made = turfmap(*SPRAYED, *WHO, *OFFICE, cwd=folder).stdout
    for words in ("Recorded as", "9 Oct 2026", "25 Oct 2026", "25 Sep 2028", "check your state"):
        assert words in made
    name = made.split()[2].rstrip(":")
    fixed = turfmap(
        *("record", "place.gpkg", "--correct", name, "--amount", "7 fl oz", "--reason", "misread"),
        *("--json",),
        cwd=folder,
    )
    (one,) = json.loads(fixed.stdout)["records"]
    assert (one["corrects"], one["zones"][0]["amount"]) == (name, 7.0)
    listed = turfmap("record", "place.gpkg", "--list", cwd=folder).stdout
    assert "corrected" in listed
    assert "stands" in listed
    for ending in ("csv", "json", "html"):
        turfmap("record", "place.gpkg", "--export", f"r.{ending}", cwd=folder)
        assert "Somebody" in (folder / f"r.{ending}").read_text("utf-8")
