"""The page for looking and drawing: its files, for a server that hands them out as they are.

Unlike the one-file map it fetches from the server that it came from, and from nowhere else. It
holds nothing of the user's: everything comes later, to whoever has the key.
"""

import html
from string import Template

from turfmap.views import assets

GEOMAN = "@geoman-io/leaflet-geoman-free"

PAGE = "draw.html"
OWN_STYLE = "draw.css"
OWN_SCRIPT = "draw.js"

_VENDORED_STYLES = {
    "leaflet.css": ("leaflet", "leaflet.css"),
    "leaflet-geoman.css": (GEOMAN, "leaflet-geoman.css"),
}
_VENDORED_SCRIPTS = {
    "leaflet.js": ("leaflet", "leaflet.js"),
    "leaflet-geoman.js": (GEOMAN, "leaflet-geoman.min.js"),
}
# Our own, joined in the order in which the browser must read them: forty requests would be slower
# than one. What the one-file map runs too stands in front.
_STYLES = ("map.css", "draw/draw.css")
_SCRIPTS = (
    "words.js",
    "shapes.js",
    "paint.js",
    "ground.js",
    "controls.js",
    "list.js",
    "stage.js",
    "draw/server.js",
    "draw/earth.js",
    "draw/label_room.js",
    "draw/units.js",
    "draw/ledger.js",
    "draw/picture.js",
    "draw/drawn_ground.js",
    "draw/board.js",
    "draw/drawing.js",
    "draw/corners.js",
    "draw/hand.js",
    "draw/unsaved.js",
    "draw/steps.js",
    "draw/tags.js",
    "draw/notice.js",
    "draw/consequence.js",
    "draw/clash.js",
    "draw/saving.js",
    "draw/elsewhere.js",
    "draw/reshape.js",
    "draw/odd.js",
    "draw/walk.js",
    "draw/feature_list.js",
    "draw/look.js",
    "draw/draw_bar.js",
    "draw/panel.js",
    "draw/keys.js",
    "draw/desk.js",
    "draw/start.js",
)

_MEDIA_TYPES = {
    "css": "text/css; charset=utf-8",
    "html": "text/html; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
}


def static_files() -> dict[str, tuple[bytes, str]]:
    """Return every file of the page by name, each with its media type.

    `PAGE` is the page itself; it links to the others by their bare names.
    """
    texts = {name: assets.style(*place) for name, place in _VENDORED_STYLES.items()}
    texts |= {name: assets.script(*place) for name, place in _VENDORED_SCRIPTS.items()}
    texts[OWN_STYLE] = "\n".join(map(assets.own_page, _STYLES))
    texts[OWN_SCRIPT] = "\n".join(map(assets.own_page, _SCRIPTS))
    texts[PAGE] = _page()
    return {name: (text.encode("utf-8"), _media_type(name)) for name, text in texts.items()}


def _page() -> str:
    styles = (*_VENDORED_STYLES, OWN_STYLE)
    scripts = (*_VENDORED_SCRIPTS, OWN_SCRIPT)
    return Template(assets.own_page(f"draw/{PAGE}")).substitute(
        styles="\n".join(f'<link rel="stylesheet" href="{name}">' for name in styles),
        scripts="\n".join(f'<script src="{name}"></script>' for name in scripts),
        licences=html.escape(assets.licences({"leaflet", GEOMAN})),
    )


def _media_type(name: str) -> str:
    return _MEDIA_TYPES[name.rpartition(".")[2]]
