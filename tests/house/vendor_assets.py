"""Bring the third-party files that our pages carry into the tree. Users never run this.

Run by a developer, with npm at hand, when a version changes:
``python tests/house/vendor_assets.py``. Files are copied byte for byte; what a page must change in
them (pictures as data, no source maps) is done when the page is made.
"""

import hashlib
import json
import shutil
import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
SHIPPED = ROOT / "turfmap" / "views" / "assets"
FOR_TESTS = ROOT / "tests" / "browser" / "vendor"


@dataclass(frozen=True)
class Package:
    """An npm package at one version, the files we take, and the file that holds its licence.

    `bundled` are the packages that its own makers have built into those files: their licences
    travel too.
    """

    name: str
    version: str
    files: tuple[str, ...]
    licence_file: str
    into: Path
    bundled: tuple[str, ...] = ()


TURF = (
    "bbox",
    "boolean-contains",
    "boolean-point-in-polygon",
    "boolean-point-on-line",
    "distance",
    "geojson-rbush",
    "helpers",
    "invariant",
    "kinks",
    "line-intersect",
    "line-segment",
    "line-split",
    "meta",
    "nearest-point-on-line",
    "truncate",
)
NOTICES = "NOTICES.txt"

PACKAGES = (
    Package(
        "leaflet",
        "1.9.4",
        (
            "dist/leaflet.js",
            "dist/leaflet.css",
            "dist/images/layers.png",
            "dist/images/layers-2x.png",
            "dist/images/marker-icon.png",
        ),
        "LICENSE",
        SHIPPED,
    ),
    Package(
        "@geoman-io/leaflet-geoman-free",
        "2.20.2",
        ("dist/leaflet-geoman.min.js", "dist/leaflet-geoman.css"),
        "LICENSE",
        SHIPPED,
        # As its source map names them.
        bundled=(
            *(f"@turf/{part}" for part in TURF),
            "bignumber.js",
            "lodash",
            "point-in-polygon-hao",
            "polyclip-ts",
            "rbush",
            "robust-predicates",
            "splaytree-ts",
            "tinyqueue",
        ),
    ),
    # Only the tests use it; it is never shipped in a page or in the wheel.
    Package("axe-core", "4.14.1", ("axe.min.js",), "LICENSE", FOR_TESTS),
)


def main() -> None:
    """Fetch every package and write each folder with its manifest."""
    with tempfile.TemporaryDirectory() as folder:
        wanted = [f"{package.name}@{package.version}" for package in PACKAGES]
        npm = shutil.which("npm") or "npm"
        subprocess.run(
            [npm, "install", "--ignore-scripts", "--no-audit", "--no-fund", *wanted],
            cwd=folder,
            check=True,
        )
        modules = Path(folder) / "node_modules"
        for into in dict.fromkeys(package.into for package in PACKAGES):
            found = [taken(package, modules) for package in PACKAGES if package.into == into]
            text = json.dumps(found, indent=2) + "\n"
            (into / "manifest.json").write_text(text, encoding="utf-8")


def taken(package: Package, modules: Path) -> dict[str, object]:
    """Copy one package's files and return its entry in the manifest."""
    source = modules / package.name
    said = json.loads((source / "package.json").read_text(encoding="utf-8"))
    folder = package.into / f"{package.name.rpartition('/')[2]}-{package.version}"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    found = {path: (source / path).read_bytes() for path in (*package.files, package.licence_file)}
    if package.bundled:
        found[NOTICES] = notices(package, modules).encode("utf-8")
    files = []
    for path, content in found.items():
        (folder / Path(path).name).write_bytes(content)
        digest = hashlib.sha256(content).hexdigest()
        files.append({"file": Path(path).name, "source": path, "sha256": digest})
    return {
        "name": package.name,
        "version": package.version,
        "licence": said["license"],
        "licence_file": NOTICES if package.bundled else package.licence_file,
        "folder": folder.name,
        "files": files,
    }


def notices(package: Package, modules: Path) -> str:
    """Return the licence of a package and of each that is built into it, the same text once."""
    said: dict[str, list[str]] = {}
    for name in (package.name, *package.bundled):
        found = sorted((modules / name).glob("LICEN[CS]E*"))
        said.setdefault(found[0].read_text(encoding="utf-8").strip(), []).append(name)
    return "\n\n\n".join(f"{', '.join(names)}\n\n{text}" for text, names in said.items()) + "\n"


if __name__ == "__main__":
    main()
