import ast
import re
from inspect import signature
from pathlib import Path

import pytest

from turfmap.views.map_shell import map_shell

PRODUCT = Path(__file__).parents[2] / "turfmap"


def imports_of(path: Path) -> set[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {name.name.split(".")[0] for name in node.names}
        elif isinstance(node, ast.ImportFrom):
            found.add(str(node.module).split(".")[0])
    return found


# folium and branca compile the text they are given as Jinja templates, without a sandbox.
def test_only_the_shell_and_its_figure_touch_folium() -> None:
    touching = {
        str(path.relative_to(PRODUCT))
        for path in PRODUCT.rglob("*.py")
        if imports_of(path) & {"folium", "branca"}
    }
    assert {Path(name).as_posix() for name in touching} == {
        "views/map_shell.py",
        "views/offline_page.py",
    }


def test_the_shell_takes_names_of_our_layers_and_nothing_else() -> None:
    assert list(signature(map_shell).parameters) == ["layers"]
    with pytest.raises(KeyError, match="7"):
        map_shell(["zone", "{{ 7*7 }}"])


def test_the_shell_uses_nothing_of_folium_that_shows_text() -> None:
    source = (PRODUCT / "views" / "map_shell.py").read_text(encoding="utf-8")
    assert not re.search(r"Popup|Tooltip|GeoJson|DivIcon|Marker|explore", source)
