"""The page for recording a visit: its files, for the local server that hands them out.

It holds nothing of the user's: everything comes later, to whoever has the key.
"""

from turfmap.views import assets

PAGE, _STYLE, _SCRIPT = "record.html", "record.css", "record.js"
_STYLES = ("map.css", "record/record.css")
_SCRIPTS = (
    "words.js",
    "draw/server.js",
    "draw/notice.js",
    "record/drafts.js",
    "record/fields.js",
    "record/ground.js",
    "record/limits.js",
    "record/told.js",
    "record/list.js",
    "record/start.js",
)


def static_files() -> dict[str, tuple[bytes, str]]:
    """Return every file of the page by name, each with its media type."""
    texts = {
        PAGE: (assets.own_page("record/record.html"), "text/html"),
        _STYLE: ("\n".join(map(assets.own_page, _STYLES)), "text/css"),
        _SCRIPT: ("\n".join(map(assets.own_page, _SCRIPTS)), "text/javascript"),
    }
    return {
        name: (text.encode("utf-8"), f"{kind}; charset=utf-8")
        for name, (text, kind) in texts.items()
    }
