"""``turfmap serve`` as a user starts it: what it says, what it refuses, how it ends."""

import socket
import sys
from pathlib import Path

import httpx
import numpy as np
import pytest
import rasterio
from click.testing import CliRunner, Result

from tests.doors.web.running import free_port, serving
from turfmap.doors.cli import undo
from turfmap.doors.web import draw, serve
from turfmap.foundations.errors import InputFaultsError


def refused(*arguments: str) -> str:
    """Return what `serve` says to arguments that it refuses."""
    result = CliRunner().invoke(serve.command, [*arguments, "--no-browser"])
    assert isinstance(result.exception, InputFaultsError), result.output
    return str(result.exception)


def test_the_first_line_is_the_address_and_ctrl_c_ends_it(place: Path) -> None:
    port = free_port()
    with serving(place, "--port", str(port)) as running:
        assert running.address == f"http://127.0.0.1:{port}"
        assert httpx.get(f"{running.address}/api/", headers=running.bearer).is_success
        assert len(running.key) >= 32
        taken = refused(str(place), "--port", str(port))
        assert f"port {port} is taken by another program; choose another" in taken
    assert running.process.returncode in {0, -15, 143}


def test_it_listens_on_this_machine_alone(place: Path) -> None:
    with serving(place, "--port", str(free_port())) as running:
        port = int(running.address.rpartition(":")[2])
        with socket.socket() as other:
            other.settimeout(2)
            # Any other address of this machine; Linux answers on all of 127.0.0.0/8.
            assert other.connect_ex(("127.0.0.2", port)) != 0


def test_what_is_wrong_is_told_before_anything_starts(place: Path, tmp_path: Path) -> None:
    assert "there is no such file" in refused(str(tmp_path / "none.gpkg"))
    for tiles in ("here", "ftp://a/{z}/{x}/{y}", "https://a/{z}/{x}", "https://{s}.a/{z}/{x}/{y}"):
        assert "--tiles" in refused(str(place), "--tiles", tiles, "--credit", "x")
    assert "credit" in refused(str(place), "--tiles", "https://a/{z}/{x}/{y}")
    picture = tmp_path / "picture.tif"
    picture.write_bytes(b"no picture")
    assert "cannot be read as a picture" in refused(str(place), "--picture", str(picture))
    nowhere = tmp_path / "nowhere.tif"
    shape = {"driver": "GTiff", "width": 8, "height": 8, "count": 3, "dtype": "uint8"}
    at = rasterio.Affine(1e-5, 0, -84.0, 0, -1e-5, 33.0)
    with rasterio.open(nowhere, "w", transform=at, **shape) as made:
        made.write(np.zeros((3, 8, 8), dtype=np.uint8))
    assert "which coordinate system" in refused(str(place), "--picture", str(nowhere))


def test_without_the_library_pictures_name_the_extra(
    place: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "rasterio", None)
    picture = tmp_path / "picture.tif"
    assert "pip install turfmap[picture]" in refused(str(place), "--picture", str(picture))


def test_draw_is_the_same_page_opened_on_the_editor(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    given: dict[str, object] = {}
    monkeypatch.setattr(draw, "run", lambda options, *, view: given.update(options, view=view))
    result = CliRunner().invoke(draw.command, [str(place), "--as-of", "2026-09-24"])
    assert result.exit_code == 0
    assert (given["view"], str(given["as_of"])) == ("&view=draw", "2026-09-24")


def test_undo_lists_and_restores_on_the_command_line(place: Path) -> None:
    def turfmap(*arguments: str) -> Result:
        return CliRunner().invoke(undo.command, [str(place), *arguments])

    assert "3 zone added" in turfmap("--list").output
    assert turfmap().output.startswith("Undid change 3: 1 rows put back")  # the pond
    assert "undid change 3: 1 water removed" in turfmap("--list").output
    assert "there is no change 77" in str(turfmap("--change", "77").exception)
