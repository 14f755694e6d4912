"""``turfmap notice``, ``beds`` and ``price``: what is printed, and what ends with status 2."""

from pathlib import Path

import pytest

from tests.doors.test_cli import LAWN, turfmap


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("notice")
    (folder / "lawn.csv").write_text(LAWN)
    turfmap("new", "place.gpkg", cwd=folder)
    turfmap("import", "place.gpkg", "lawn.csv", "--as", "zone", cwd=folder)
    return folder


def test_letters_and_templates(folder: Path) -> None:
    told = ("notice", "place.gpkg", "--questions", "--as-of", "2026-09-24", "--out", "q")
    assert "1 letters in q." in turfmap(*told, cwd=folder).stdout
    assert "holds something already" in turfmap(*told, cwd=folder, status=2).stderr
    assert "Wrote 7 files" in turfmap(*told[:2], "--templates-into", "mine", cwd=folder).stdout
    again = (*told[:-1], "r", "--style", "mine")
    assert "1 letters in r." in turfmap(*again, cwd=folder).stdout


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("notice", "place.gpkg"), "which letters are wanted is not said"),
        (("notice", "place.gpkg", "--before", "--out", "x"), "--from, --until"),
        (
            ("beds", "place.gpkg", "--as-of", "2026-11-16", "--depth", "3in", "--bag", "-1"),
            "--material",
        ),
        (
            ("price", "place.gpkg", "--property", "Alder", "--as-of", "2026-11-16", "--count", "x"),
            "it is no count",
        ),
        (
            ("price", "place.gpkg", "--property", "Alder", "--as-of", "2026-11-16"),
            "nothing on it has a price",
        ),
    ],
)
def test_what_cannot_be_is_one_sentence(
    folder: Path, arguments: tuple[str, ...], words: str
) -> None:
    assert words in turfmap(*arguments, cwd=folder, status=2).stderr
