"""The frame that all map pages share: head, map, list, cautions, and the notices of software."""

import html
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

from turfmap.views import assets
from turfmap.views.map_shell import map_shell
from turfmap.views.offline_page import OfflineFigure, escaped, json_block

# What every map page runs, before its own scripts.
_SCRIPTS = (
    "words.js",
    "data.js",
    "shapes.js",
    "paint.js",
    "ground.js",
    "controls.js",
    "list.js",
    "stage.js",
)


@dataclass(frozen=True)
class Sheet:
    """What one kind of map page puts into the frame.

    Attributes
    ----------
    title, page_title
        Its heading and its name in a browser's tab. They may hold anything.
    stamp
        The large words beside the heading: finished HTML.
    above_map, list_side
        Our own page files for what stands above the map (or none) and beside it.
    cautions_title, cautions
        What the reader must be told. They may hold anything.
    layers
        The layers that can be shown and hidden, of `turfmap.views.map_shell.LAYERS`.
    scripts
        Our own page files that it runs; the last defines ``turfmap.start``.
    data
        What its scripts read.
    styles
        Our own style sheets, after the one that all maps share.
    """

    title: str
    page_title: str
    stamp: str
    above_map: str
    list_side: str
    cautions_title: str
    cautions: Sequence[str]
    layers: Collection[str]
    scripts: Sequence[str]
    data: dict[str, Any]
    styles: Sequence[str] = ()


def framed(sheet: Sheet) -> str:
    """Return a map page that fetches nothing.

    Raises
    ------
    KeyError
        If a layer is none of ours.
    """
    scripts = [*_SCRIPTS, *sheet.scripts]
    styles = ("map.css", *sheet.styles)
    parts = {
        "title": escaped(sheet.title),
        "page_title": escaped(sheet.page_title),
        "stamp": sheet.stamp,
        "above_map": assets.own_page(sheet.above_map) if sheet.above_map else "",
        "list": assets.own_page(sheet.list_side),
        "cautions_title": html.escape(sheet.cautions_title),
        "cautions": "\n".join(f"<li>{escaped(caution)}</li>" for caution in sheet.cautions),
        "licences": escaped(assets.licences({"leaflet"})),
        "style": f"<style>{''.join(map(assets.own_page, styles))}</style>",
        "data": json_block("map-data", sheet.data),
        "scripts": "\n".join(f"<script>\n{assets.own_page(file)}</script>" for file in scripts),
    }
    figure = OfflineFigure(assets.own_page("frame.html"), parts)
    map_shell(sheet.layers).add_to(figure)
    return figure.render()
