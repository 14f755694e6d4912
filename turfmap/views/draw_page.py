"""The page for looking and drawing: its files, for a server that hands them out as they are.

Unlike the one-file map it fetches from the server that it came from, and from nowhere else. It
holds nothing of the user's: everything comes later, to whoever has the key.
"""

import html
from string import Template

from turfmap.views import assets

GEOMAN = "@geoman-io/leaflet-geoman-free"

PAGE = "draw.html"

# What the page links to, in the order in which the browser must read it: third-party files...
_VENDORED_STYLES = {
    "leaflet.css": ("leaflet", "leaflet.css"),
    "leaflet-geoman.css": (GEOMAN, "leaflet-geoman.css"),
}
_VENDORED_SCRIPTS = {
    "leaflet.js": ("leaflet", "leaflet.js"),
    "leaflet-geoman.js": (GEOMAN, "leaflet-geoman.min.js"),
}
# ...what the one-file map runs too...
_SHARED_STYLES = ("map.css",)
_SHARED_SCRIPTS = (
    "words.js",
    "shapes.js",
    "paint.js",
    "ground.js",
    "controls.js",
    "list.js",
    "stage.js",
)
# ...and what is the page's own.
_OWN_STYLES = ("draw.css",)
_OWN_SCRIPTS = (
    "server.js",
    "earth.js",
    "label_room.js",
    "units.js",
    "ledger.js",
    "picture.js",
    "drawn_ground.js",
    "board.js",
    "drawing.js",
    "corners.js",
    "hand.js",
    "unsaved.js",
    "steps.js",
    "tags.js",
    "notice.js",
    "consequence.js",
    "clash.js",
    "saving.js",
    "reshape.js",
    "odd.js",
    "walk.js",
    "feature_list.js",
    "look.js",
    "draw_bar.js",
    "panel.js",
    "keys.js",
    "desk.js",
    "start.js",
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
    texts |= {name: assets.own_page(name) for name in (*_SHARED_STYLES, *_SHARED_SCRIPTS)}
    texts |= {name: assets.own_page(f"draw/{name}") for name in (*_OWN_STYLES, *_OWN_SCRIPTS)}
    texts[PAGE] = _page()
    return {name: (text.encode("utf-8"), _media_type(name)) for name, text in texts.items()}


def _page() -> str:
    styles = (*_VENDORED_STYLES, *_SHARED_STYLES, *_OWN_STYLES)
    scripts = (*_VENDORED_SCRIPTS, *_SHARED_SCRIPTS, *_OWN_SCRIPTS)
    return Template(assets.own_page(f"draw/{PAGE}")).substitute(
        styles="\n".join(f'<link rel="stylesheet" href="{name}">' for name in styles),
        scripts="\n".join(f'<script src="{name}"></script>' for name in scripts),
        licences=html.escape(assets.licences({"leaflet", GEOMAN})),
    )


def _media_type(name: str) -> str:
    return _MEDIA_TYPES[name.rpartition(".")[2]]
