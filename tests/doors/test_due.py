"""``turfmap due`` as typed: the whole chain for a zone, and things supposed."""

import json
from pathlib import Path

from tests.doors.test_cli import folder, turfmap

__all__ = ["folder"]
DAY = ("due", "place.gpkg", "--as-of", "2026-09-24")


def test_why_prints_window_hold_label_figures_and_sources(folder: Path) -> None:
    printed = turfmap(*DAY, "--why", "Front", cwd=folder).stdout
    for words in (
        "Autumn pre-emergent: ask first (2026-09-15 to 2026-10-05)",
        "window: middle",
        "ask by overseeding_not_asked",
        "label figures to check: prodiamine",
        "Source: ",
        "Tell the client: Do you plan to have grass seed sown",
    ):
        assert words in " ".join(printed.split())


def test_what_if_is_told_with_the_answer(folder: Path) -> None:
    more = ("--what-if", "overseed=2026-10-10", "--what-if", "rain=0", "--json")
    found = json.loads(turfmap(*DAY, *more, cwd=folder).stdout)
    assert found["what_if"][0] == "overseeding is answered planned for 10 Oct 2026"
    states = {task["task"]: task["state"] for task in found["zones"][0]["tasks"]}
    assert states["autumn_pre_emergent"] == "held"
    shown = " ".join(turfmap(*DAY, *more[:4], cwd=folder).stdout.split())
    assert "Nothing of this was written down" in shown


def test_what_is_supposed_wrongly_is_one_sentence(folder: Path) -> None:
    for wrong in ("rain", "snow=1", "overseed=soon"):
        said = turfmap(*DAY, "--what-if", wrong, cwd=folder, status=2).stderr
        assert f"--what-if {wrong}" in said
        assert len(said.strip().splitlines()) == 1


def test_a_zone_name_that_means_several_is_refused_with_the_list(tmp_path: Path) -> None:
    lots = "".join(
        f'Front,{owner},turf,bermuda,"POLYGON (({x} 33, {x + 0.0005} 33, {x + 0.0005} 33.0005,'
        f' {x} 33.0005, {x} 33))"\n'
        for owner, x in (("Alder", -84.0), ("Birch", -84.01))
    )
    (tmp_path / "lawns.csv").write_text(f"name,property,kind,species,wkt\n{lots}")
    turfmap("new", "place.gpkg", cwd=tmp_path)
    turfmap("import", "place.gpkg", "lawns.csv", "--as", "zone", cwd=tmp_path)
    said = turfmap(*DAY, "--why", "Front", cwd=tmp_path, status=2).stderr
    assert "2 zones 'Front'" in said
    assert "Alder / Front; Birch / Front" in said
    found = json.loads(turfmap(*DAY, "--why", "Birch / Front", "--json", cwd=tmp_path).stdout)
    assert [zone["property"] for zone in found["zones"]] == ["Birch"]
