"""A folium page in one file: nothing is fetched from anywhere, and no user text is ever run.

folium links to scripts on the network, and compiles the text it is given as templates: a zone named
``{{ ... }}`` would be a program. So folium draws the shell alone, from constants; text from a file
reaches the page by `json_block` and `escaped` only, and a content security policy that lists the
hash of every script is the second wall.
"""

import base64
import gzip
import hashlib
import html
import json
import re
from collections.abc import Mapping
from string import Template
from typing import Any

from branca.element import CssLink, Element, Figure, JavascriptLink, Link

from turfmap.views import assets

# folium's links by the key it gives them: the vendored file that takes the place of each...
_VENDORED = {
    "leaflet": ("leaflet", "leaflet.js"),
    "leaflet_css": ("leaflet", "leaflet.css"),
}
# ...and those that only its popups and icons need, which our pages do not use.
_NOT_NEEDED = {
    "jquery",
    "bootstrap",
    "awesome_markers",
    "bootstrap_css",
    "glyphicons_css",
    "awesome_markers_font_css",
    "awesome_markers_css",
    "awesome_rotate_css",
}

# Above this, a data block is compressed. Below it, a browser too old to unpack can still read it.
LARGEST_PLAIN_BLOCK = 1_000_000

_INLINE_SCRIPT = re.compile(r"<script>(.*?)</script>", re.DOTALL)
_VIEWPORT = re.compile(r'<meta name="viewport".*?/>', re.DOTALL)


class UnknownLinkError(Exception):
    """Raised when a page would link to something that is not vendored: our fault."""


class Raw(Element):
    """Text that goes into the page as it is and is never compiled as a template."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.text = text

    def render(self, **_: object) -> str:
        """Return the text."""
        return self.text


class OfflineFigure(Figure):
    """A folium figure whose page stands alone.

    Parameters
    ----------
    frame
        The page with ``$top``, ``$head``, ``$map`` and ``$script`` where folium's parts go, and
        a place for each of `parts`.
    parts
        What else goes into the frame, by name: finished HTML, made with `escaped` and `json_block`.
    """

    def __init__(self, frame: str, parts: Mapping[str, str]) -> None:
        super().__init__()
        self.frame = frame
        self.parts = dict(parts)

    def render(self, **kwargs: object) -> str:
        """Return the whole page.

        Raises
        ------
        UnknownLinkError
            If folium, or a plugin, asks for a file that is not vendored.
        """
        for child in list(self._children.values()):
            child.render(**kwargs)
        self._replace_links()
        head = _VIEWPORT.sub("", self.header.render(**kwargs))  # folium's forbids zooming
        script = f"<script>\n{self.script.render(**kwargs)}\n</script>"
        parts = {"head": head, "map": self.html.render(**kwargs), "script": script, **self.parts}
        return standing_alone(self.frame, parts)

    def _replace_links(self) -> None:
        for key, element in list(self.header._children.items()):
            if not isinstance(element, Link):
                continue
            if key in _NOT_NEEDED:
                del self.header._children[key]
            elif key not in _VENDORED:
                raise UnknownLinkError(f"no vendored copy for {key} ({element.url})")
            else:
                self.header._children[key] = Raw(_inline(element, *_VENDORED[key]))


def _inline(link: Link, package: str, file: str) -> str:
    if isinstance(link, JavascriptLink):
        return f"<script>{assets.script(package, file)}</script>"
    if isinstance(link, CssLink):
        return f"<style>{assets.style(package, file)}</style>"
    raise UnknownLinkError(f"a link of an unknown kind ({link.url})")


def standing_alone(frame: str, parts: Mapping[str, str]) -> str:
    """Return a frame with its parts in place, and with the policy that lets it run them alone.

    Parameters
    ----------
    frame
        A page that begins with ``$top``, with a place for each of `parts`.
    parts
        Finished HTML by name. Put in in one pass: a "$" in a part is never read again.
    """
    unhashed = Template(frame).substitute(parts, top=assets.own_page("top.html"))
    before, _, after = unhashed.partition("$policy")
    return before + policy(unhashed) + after


def policy(page: str) -> str:
    """Return the content security policy that lets only the page's own inline scripts run.

    References
    ----------
    W3C, Content Security Policy Level 3, section 2.3.1 (hash sources).
    """
    scripts = _INLINE_SCRIPT.findall(page)
    hashes = dict.fromkeys(f"'sha256-{_sha256(script)}'" for script in scripts)
    return (
        f"default-src 'none'; script-src {' '.join(hashes)}; style-src 'unsafe-inline'; "
        "img-src data: blob:; connect-src 'none'; base-uri 'none'; form-action 'none'"
    )


def _sha256(text: str) -> str:
    return base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")


def escaped(text: str) -> str:
    """Return text that a browser shows and never reads as markup."""
    return html.escape(_encodable(text), quote=True)


def json_block(name: str, content: Any) -> str:
    """Return data as a script element that no browser runs.

    Parameters
    ----------
    name
        The element's id: a constant of ours.
    content
        What ``JSON.parse`` shall give back, once the block is unpacked if ``data-packed`` says so.

    Raises
    ------
    ValueError
        If the content holds a number that JSON has no word for.
    """
    text = json.dumps(content, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    text = _encodable(text)
    if len(text) > LARGEST_PLAIN_BLOCK:
        # Level 6: 9 takes twice as long for 1 %. mtime 0: the same content gives the same page.
        packed = gzip.compress(text.encode("utf-8"), compresslevel=6, mtime=0)
        coded = base64.b64encode(packed).decode("ascii")
        return f'<script type="application/json" id="{name}" data-packed="gzip">{coded}</script>'
    for sign in "&<>":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return f'<script type="application/json" id="{name}">{text}</script>'


def _encodable(text: str) -> str:
    """Return the text with half characters, which no file can hold, as question marks."""
    return text.encode("utf-8", "replace").decode("utf-8")
