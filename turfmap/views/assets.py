"""The third-party and our own page files that travel inside every page we make."""

import base64
import json
import re
from collections.abc import Collection
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any

_CSS_PICTURE = re.compile(r"""url\(["']?([^)"':#]+\.png)["']?\)""")
_SOURCE_MAP = re.compile(r"^//# sourceMappingURL=.*$", re.MULTILINE)


def manifest() -> list[dict[str, Any]]:
    """Return what is vendored: name, version, licence, folder, and each file with its SHA-256."""
    found: list[dict[str, Any]] = json.loads(_text(_assets() / "manifest.json"))
    return found


@lru_cache(maxsize=8)
def script(package: str, file: str) -> str:
    """Return a vendored script, ready to stand between script tags."""
    text = _SOURCE_MAP.sub("", _text(_folder(package) / file))
    # The only sequences that end or confuse an inline script.
    return text.replace("</script", "<\\/script").replace("<!--", "<\\!--")


@lru_cache(maxsize=8)
def style(package: str, file: str) -> str:
    """Return a vendored style sheet with its pictures inside it."""
    folder = _folder(package)

    def embedded(match: re.Match[str]) -> str:
        picture = (folder / match[1].rsplit("/", 1)[-1]).read_bytes()
        return f"url(data:image/png;base64,{base64.b64encode(picture).decode('ascii')})"

    return _CSS_PICTURE.sub(embedded, _text(folder / file))


def licences(packages: Collection[str]) -> str:
    """Return the notices of the vendored packages that a page holds: they travel with each copy."""
    notices = []
    for package in (entry for entry in manifest() if entry["name"] in packages):
        notice = _text(_folder(package["name"]) / package["licence_file"])
        notices.append(f"{package['name']} {package['version']}\n\n{notice.strip()}")
    return "\n\n\n".join(notices)


@lru_cache(maxsize=16)
def own_page(file: str) -> str:
    """Return one of our own scripts, style sheets or page frames (``pages/``)."""
    return _text(files("turfmap.views") / "pages" / file)


def _folder(package: str) -> Traversable:
    for entry in manifest():
        if entry["name"] == package:
            return _assets() / str(entry["folder"])
    raise LookupError(f"no vendored copy of {package}")


def _assets() -> Traversable:
    return files("turfmap.views") / "assets"


def _text(path: Traversable) -> str:
    return path.read_text(encoding="utf-8")
