"""What turfmap writes replaces what turfmap wrote, and nothing else."""

from pathlib import Path

import pytest

from turfmap.foundations.errors import InputFaultsError
from turfmap.store.written_files import HTML_MARK, write_whole

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
