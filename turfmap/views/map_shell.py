"""folium's part of the map. No text of a user's may come in here: folium would run it."""

from collections.abc import Collection

import folium
from branca.element import Element, Figure

from turfmap.views.offline_page import Raw

# The layers of the map: folium's id, and words of our own. Never a user's text.
LAYERS = {
    "zone": "Zones, by what is due",
    "slope": "Slope and relief, as measured",
    "sun": "Hours of sun, as measured",
    "no_spray": "No-spray ground",
    "water": "Water and wells",
    "sensitive_site": "Sensitive sites",
    "obstacle": "Buildings and other obstacles",
    "canopy": "Trees",
    "gate": "Gates",
    "property": "Property lines",
    "odd": "What is odd",
}

# A map without it would say "go" where nobody may, or hide what it was made to show.
_ALWAYS_SHOWN = {"no_spray", "odd"}
# The first view is of what is due; these lie over its colours and are asked for.
_HIDDEN_AT_FIRST = {"slope", "sun"}

_DEEPEST_ZOOM = 23


def map_shell(layers: Collection[str]) -> folium.Map:
    """Return folium's part: the map, an empty group a layer, and the control that lists them.

    Its last script hands them to ours, which fill them.

    Parameters
    ----------
    layers
        Those of `LAYERS` that this map has; the control lists no others.

    Raises
    ------
    KeyError
        If one is none of ours.
    """
    if unknown := set(layers) - LAYERS.keys():
        raise KeyError(*unknown)
    shell = folium.Map(
        location=[0, 0],
        zoom_start=2,
        tiles=None,
        max_zoom=_DEEPEST_ZOOM,
        prefer_canvas=True,
        attributionControl=False,
        fadeAnimation=False,
    )
    groups = {}
    for layer, words in LAYERS.items():
        if layer not in layers:
            continue
        can_hide = layer not in _ALWAYS_SHOWN
        is_shown = layer not in _HIDDEN_AT_FIRST
        group = _named(folium.FeatureGroup(name=words, control=can_hide, show=is_shown), layer)
        group.add_to(shell)
        groups[layer] = group.get_name()
    if set(layers) - _ALWAYS_SHOWN:
        _named(folium.LayerControl(collapsed=True), "layers").add_to(shell)
    _named(shell, "ground")
    names = ", ".join(f"{layer}: {name}" for layer, name in groups.items())
    start = Raw(f"turfmap.start({shell.get_name()}, {{ {names} }});")
    shell.add_child(_LastScript(start))
    return shell


def _named(element: Element, name: str) -> Element:
    element._id = name  # folium draws a random one, and the page would differ each time
    return element


class _LastScript(Element):
    """Puts a script after all that folium wrote before it."""

    def __init__(self, script: Raw) -> None:
        super().__init__()
        _named(self, "start")
        self.script = script

    def render(self, **_: object) -> str:
        """Hand the script to the page; nothing is drawn here."""
        figure = self.get_root()
        if isinstance(figure, Figure):
            figure.script.add_child(self.script, name="start")
        return ""
