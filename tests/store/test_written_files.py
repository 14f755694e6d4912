"""What turfmap writes replaces what turfmap wrote, and nothing else."""

from pathlib import Path

import pytest

from turfmap.foundations.errors import InputFaultsError
from turfmap.store import written_files
from turfmap.store.written_files import (
    HTML_MARK,
    clear,
    name_to_make_under,
    replacing_together,
    write_whole,
)

PAGE = f"<html>{HTML_MARK}"


def write(path: Path, text: str = PAGE) -> None:
    write_whole(path, text, mark=HTML_MARK, endings=(".html",))


def test_its_own_page_is_replaced(tmp_path: Path) -> None:
    path = tmp_path / "map.html"
    write(path)
    write(path, PAGE + "2")
    assert path.read_text() == PAGE + "2"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("content", [b"SQLite format 3\0" + b"\0" * 99, b"<html>mine", b""])
def test_anything_else_is_left_alone(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "map.html"
    path.write_bytes(content)
    with pytest.raises(InputFaultsError, match="did not write"):
        write(path)
    assert path.read_bytes() == content


def test_another_ending_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputFaultsError, match="ending"):
        write(tmp_path / "place.gpkg")
    assert list(tmp_path.iterdir()) == []


def test_what_a_killed_run_left_under_the_same_number_is_no_hindrance(tmp_path: Path) -> None:
    """Left as a second name of the finished file, it is not written into."""
    path = tmp_path / "map.html"
    write(path)
    name_to_make_under(path).hardlink_to(path)
    (tmp_path / "kept.html").hardlink_to(path)
    write(path, PAGE + "2")
    assert (tmp_path / "kept.html").read_text() == PAGE
    folder = name_to_make_under(tmp_path / "letters")
    folder.mkdir()
    (folder / "1.md").touch()
    clear(folder)
    assert {one.name for one in tmp_path.iterdir()} == {"kept.html", "map.html"}


def put_together(folder: Path) -> None:
    with replacing_together(folder, marks=(HTML_MARK.encode(),)) as making:
        write(making / "a.html", PAGE + "new")
        write(making / "b.html", PAGE + "new")


def test_files_that_belong_together_are_replaced_all_or_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(tmp_path / "a.html", PAGE + "old")
    (tmp_path / "b.html").write_text("mine", encoding="utf-8")
    with pytest.raises(InputFaultsError, match=r"b\.html: .*did not write"):
        put_together(tmp_path)
    assert (tmp_path / "a.html").read_text() == PAGE + "old"
    (tmp_path / "b.html").unlink()
    put_together(tmp_path)
    assert (tmp_path / "a.html").read_text() == PAGE + "new"
    written = written_files.write_to_disk

    def full(path: Path, content: bytes) -> None:
        if "b.html" in path.name:
            raise OSError(28, "No space left on device")
        written(path, content.replace(b"new", b"newest"))

    monkeypatch.setattr(written_files, "write_to_disk", full)
    with pytest.raises(InputFaultsError, match="No space left") as told:
        put_together(tmp_path)
    assert told.value.faults[0].file == str(tmp_path / "b.html")
    assert [one.read_text() for one in sorted(tmp_path.iterdir())] == [PAGE + "new"] * 2
