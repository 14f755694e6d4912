"""The documents say what the program does: lists that are made from it are fresh."""

import re
from pathlib import Path

from turfmap.doors.cli.main import COMMANDS

ROOT = Path(__file__).parents[2]


def test_the_readme_lists_the_commands() -> None:
    text = (ROOT / "README.md").read_text("utf-8")
    (block,) = re.findall(r"<!-- commands: .*?-->\n(.*?)<!-- end of commands -->", text, re.S)
    rows = [f"| `turfmap {name}` | {what} |" for name, what in COMMANDS.items()]
    assert block.splitlines() == ["| Command | What it does |", "|---|---|", *rows]


def test_the_developers_page_names_every_floor_and_library() -> None:
    """A dependency without a stated job, or a floor that is not in the picture, is a stale page."""
    page = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    project = (ROOT / "pyproject.toml").read_text("utf-8")
    block = project.partition("dependencies = [")[2].partition("]")[0]
    names = re.findall(r'"([a-z-]+)>=', block)
    floors = [path.parent.name for path in (ROOT / "turfmap").glob("*/__init__.py")]
    assert names
    assert [name for name in [*names, *floors] if f"`{name}`" not in page] == []


def test_no_registry_or_machine_is_named_anywhere() -> None:
    """What is needed is named by package; where it comes from is the installer's business."""
    ends = [r"pi\.org", "hosted", r"js\.(org|com)", r"\.debian"]
    starts = ["py", "python", "npm", "deb"]  # in two pieces, or this file would name them
    hosts = "|".join(start + end for start, end in zip(starts, ends, strict=True))
    texts = [*ROOT.glob("*.*"), *(ROOT / ".ci").iterdir()]
    texts += [path for folder in ("turfmap", "layers", "tests", "demo") for path in _texts(folder)]
    named = [path.name for path in texts if path.is_file() and re.search(hosts, _read(path))]
    assert named == []


def _texts(folder: str) -> list[Path]:
    kinds = {".py", ".md", ".toml", ".sql", ".json", ".js", ".html"}
    return [path for path in (ROOT / folder).rglob("*") if path.suffix in kinds and _ours(path)]


def _ours(path: Path) -> bool:
    return not {"assets", "vendor", "out", "__pycache__"} & set(path.parts)


def _read(path: Path) -> str:
    return path.read_text("utf-8", errors="replace")
