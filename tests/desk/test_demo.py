"""The demo command: made from files alone, made again, and never over a user's work."""

from pathlib import Path

import pytest

from turfmap.desk.demo import AS_OF, demo
from turfmap.foundations.errors import InputFaultsError

FILES = {"demo.gpkg", "map.html", "trucks.csv", "demo.made.json"}


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo") / "out"
    demo(folder)
    return folder


def test_it_makes_place_and_map_and_leaves_nothing_else(made: Path) -> None:
    assert {path.name for path in made.iterdir()} == FILES


def test_it_replaces_its_own_files_and_tells_the_headline(made: Path) -> None:
    before = (made / "demo.gpkg").stat().st_mtime_ns
    result = demo(made, as_of=AS_OF)
    assert (made / "demo.gpkg").stat().st_mtime_ns > before
    headline = {row["what"]: row["value"] for row in result["headline"]}
    assert headline["Properties"] == "61"
    zones = sum(int(n) for what, n in headline.items() if what.startswith("Zones: "))
    assert zones == int(headline["Zones"])


@pytest.mark.parametrize("name", ["demo.gpkg", "map.html", "trucks.csv"])
def test_what_a_user_changed_is_not_replaced(made: Path, name: str) -> None:
    path = made / name
    as_made = path.read_bytes()
    path.write_bytes(as_made + b" ")
    with pytest.raises(InputFaultsError, match="not as the demo made it"):
        demo(made)
    assert path.read_bytes() == as_made + b" "
    path.write_bytes(as_made)


def test_what_lies_there_of_a_users_own_is_not_replaced(tmp_path: Path) -> None:
    (tmp_path / "map.html").write_text("mine", encoding="utf-8")
    with pytest.raises(InputFaultsError, match=r"map\.html"):
        demo(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["map.html"]


def test_a_place_that_another_program_is_writing_is_not_replaced(made: Path) -> None:
    journal = made / "demo.gpkg-wal"
    journal.touch()
    with pytest.raises(InputFaultsError, match="not as the demo made it"):
        demo(made)
    journal.unlink()


@pytest.mark.parametrize("content", ["[]", "null", "{", "[" * 100_000])
def test_a_record_that_the_demo_did_not_write_vouches_for_nothing(
    tmp_path: Path, content: str
) -> None:
    (tmp_path / "demo.made.json").write_text(content, encoding="utf-8")
    (tmp_path / "demo.gpkg").write_text("mine", encoding="utf-8")
    with pytest.raises(InputFaultsError, match="not as the demo made it"):
        demo(tmp_path)


def test_a_folder_that_may_not_be_read_is_a_fault(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "demo.gpkg").write_text("mine", encoding="utf-8")

    def refused(_: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "read_bytes", refused)
    with pytest.raises(InputFaultsError, match="Permission denied"):
        demo(tmp_path)
