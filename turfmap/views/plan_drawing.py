"""The plan of a property as a drawing to print: hatches, scale bar, north, numbers to look up."""

from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from turfmap.foundations.units import METRES_PER_FOOT
from turfmap.views.offline_page import escaped
from turfmap.views.visit_plan import PlanThing, PlanZone, VisitPlan

WIDEST_MM, TALLEST_MM = 186.0, 118.0
AROUND_MM = 6.0
# Corners nearer together than this on the paper are drawn as one; nothing is measured off paper.
FINEST_MM = 0.02
BAR_FEET = (5, 10, 20, 50, 100, 200, 500, 1_000, 2_000, 5_000)
LONGEST_BAR_MM = 45.0

# How each answer and each layer looks: the same hatches as on the crew page.
_ZONE_FILL = {"go": "#cfe6c6", "wait": "url(#wait)", "no": "url(#no)"}
_LOOKS = {
    "property": 'fill="#fffdf6" stroke="#5d5a4e" stroke-width="0.35" stroke-dasharray="2.4 1"',
    "water": 'fill="#cfe3f5" stroke="#0a4f9e" stroke-width="0.5"',
    "obstacle": 'fill="#c3bfb4" stroke="#3d3b35" stroke-width="0.3"',
    "canopy": 'fill="#09321a" fill-opacity="0.22" stroke="#09321a" stroke-width="0.3"',
    "sensitive_site": 'fill="#ffffff" fill-opacity="0.8" stroke="#7a0f5c" stroke-width="0.7"',
    "gate": 'fill="#ffffff" stroke="#5a3205" stroke-width="0.8"',
}
_NO_SPRAY = 'fill="url(#no-spray)"'
_CAUSE = 'fill="none" stroke="#000000" stroke-width="0.6"'
_DEFS = """<defs>
<pattern id="no-spray" width="2.4" height="2.4" patternUnits="userSpaceOnUse">\
<path d="M0 0L2.4 2.4M2.4 0L0 2.4" stroke="#000000" stroke-width="0.3"/></pattern>
<pattern id="wait" width="2.4" height="2.4" patternUnits="userSpaceOnUse">\
<path d="M0 0H2.4V2.4H0Z" fill="#ffd873"/>\
<path d="M0.4 0.4h0.5v0.5h-0.5zM1.6 1.6h0.5v0.5h-0.5z" fill="#4a3a00"/></pattern>
<pattern id="no" width="2.4" height="2.4" patternUnits="userSpaceOnUse">\
<path d="M0 0H2.4V2.4H0Z" fill="#e8b9ae"/>\
<path d="M0 1.2H2.4" stroke="#5a2015" stroke-width="0.3"/></pattern>
</defs>"""


@dataclass(frozen=True)
class _Paper:
    """Where the plane lies on the paper: its north-west corner [m], and millimetres a metre."""

    west: float
    north: float
    scale: float
    width_mm: float
    height_mm: float

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Return a place of the plane on the paper [mm]."""
        return AROUND_MM + (x - self.west) * self.scale, AROUND_MM + (self.north - y) * self.scale


def plan_drawing(plan: VisitPlan) -> str:
    """Return the plan as SVG, its zones numbered and its causes lettered in their order.

    The same plan gives the same drawing, to the byte.
    """
    paper = _paper(plan)
    under = [thing for thing in plan.things if thing.layer == "property"]
    between = [one for one in plan.things if one.layer not in {"property", "gate"}]
    gates = [one for one in plan.things if one.layer == "gate"]
    parts = [
        *(_thing(one, paper) for one in under),
        *(_zone(one, paper) for one in plan.zones),
        *(_thing(one, paper) for one in between),
        # Hatched once: hatches that lie over each other would be plain black.
        _path(shapely.union_all([one.geometry for one in plan.no_spray]), _NO_SPRAY, paper),
        *(_path(one.geometry, _CAUSE, paper) for one in plan.no_spray),
        *(_thing(one, paper) for one in gates),
        *(_marks(one, paper) for one in between),
        *_labels(plan, paper),
        _scale_bar(paper),
        _north(paper),
    ]
    size = f'width="{paper.width_mm:.2f}mm" height="{paper.height_mm:.2f}mm"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size}'
        f' viewBox="0 0 {paper.width_mm:.2f} {paper.height_mm:.2f}" font-family="sans-serif">'
        f'{_DEFS}<path d="M0 0H{paper.width_mm:.2f}V{paper.height_mm:.2f}H0Z" fill="#f4f1e8"/>'
        f"{''.join(parts)}</svg>"
    )


def letter(index: int) -> str:
    """Return the letter of a cause: A to Z, then AA, AB."""
    rest = "" if index < 26 else letter(index // 26 - 1)
    return rest + chr(ord("A") + index % 26)


def _paper(plan: VisitPlan) -> _Paper:
    lots = [thing.geometry for thing in plan.things if thing.layer == "property"]
    grounds = [*lots, *(zone.geometry for zone in plan.zones)]
    nothing = (0.0, 0.0, 1.0, 1.0)
    west, south, east, north = shapely.total_bounds(grounds) if grounds else nothing
    wide, tall = max(east - west, 1.0), max(north - south, 1.0)
    room_mm = (WIDEST_MM - 2 * AROUND_MM, TALLEST_MM - 2 * AROUND_MM)
    scale = min(room_mm[0] / wide, room_mm[1] / tall)
    spare_m = (room_mm[0] / scale - wide) / 2.0
    height_mm = tall * scale + 2 * AROUND_MM
    return _Paper(float(west - spare_m), float(north), float(scale), WIDEST_MM, float(height_mm))


def _zone(zone: PlanZone, paper: _Paper) -> str:
    look = f'fill="{_ZONE_FILL[zone.answer]}" stroke="#111111" stroke-width="0.35"'
    return _path(zone.geometry, look, paper)


def _thing(thing: PlanThing, paper: _Paper) -> str:
    return _path(thing.geometry, _LOOKS[thing.layer], paper) + _marks(thing, paper)


def _marks(thing: PlanThing, paper: _Paper) -> str:
    """Mark what is drawn as a point; over the hatches too, as it is so small."""
    xy = [shapely.get_coordinates(one)[0] for one in _singles(thing.geometry) if one.length == 0.0]
    places = (paper.at(x, y) for x, y in xy)
    look = _LOOKS[thing.layer]
    return "".join(
        f'<path d="M{x - 1.2:.2f} {y - 1.2:.2f}h2.4v2.4h-2.4z" {look}/>' for x, y in places
    )


def _path(shape: BaseGeometry, look: str, paper: _Paper) -> str:
    drawn = shapely.simplify(shape, FINEST_MM / paper.scale)
    pieces = []
    for one in _singles(drawn):
        if one.geom_type == "Polygon":
            pieces += [_line(ring, paper) + "Z" for ring in shapely.get_rings(one)]
        elif one.geom_type != "Point":
            look += ' fill-opacity="0"'
            pieces.append(_line(one, paper))
    return f'<path d="{"".join(pieces)}" fill-rule="evenodd" {look}/>' if pieces else ""


def _line(line: BaseGeometry, paper: _Paper) -> str:
    corners = (paper.at(x, y) for x, y in shapely.get_coordinates(line))
    return "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in corners)


def _singles(shape: BaseGeometry) -> list[BaseGeometry]:
    parts = shapely.get_parts(shape)
    while (shapely.get_type_id(parts) > shapely.GeometryType.POLYGON).any():
        parts = shapely.get_parts(parts)
    return [part for part in parts if not part.is_empty]


def _labels(plan: VisitPlan, paper: _Paper) -> list[str]:
    """Return numbers of zones and letters of causes; what would lie on another moves down."""
    wanted: list[tuple[str, BaseGeometry, bool]] = [
        (f"{number} {zone.answer.upper()}", place, False)
        for number, (zone, place) in enumerate(
            zip(plan.zones, plan.label_places(), strict=True), start=1
        )
    ]
    wanted += [(letter(index), _top(one.geometry), True) for index, one in enumerate(plan.no_spray)]
    taken: list[tuple[float, float, float, float]] = []
    return [_label(text, at, is_cause, (paper, taken)) for text, at, is_cause in wanted]


def _top(shape: BaseGeometry) -> BaseGeometry:
    corners = shapely.get_coordinates(shape)
    return shapely.Point(corners[corners[:, 1].argmax()]) if len(corners) else shapely.Point()


def _label(
    text: str,
    at: BaseGeometry,
    is_cause: bool,
    on: tuple[_Paper, list[tuple[float, float, float, float]]],
) -> str:
    paper, taken = on
    if at.is_empty:
        return ""
    x, y = paper.at(*shapely.get_coordinates(at)[0])
    half = 0.95 * len(text) + 0.9
    x = min(max(x, half + 0.5), paper.width_mm - half - 0.5)
    y = min(max(y, 3.0), paper.height_mm - 3.0)
    for _ in range(6):
        box = (x - half, y - 1.9, x + half, y + 1.9)
        if not any(_meet(box, other) for other in taken):
            break
        y += 3.9
    taken.append(box)
    ink, ground = ("#ffffff", "#000000") if is_cause else ("#111111", "#ffffff")
    return (
        f'<rect x="{box[0]:.2f}" y="{box[1]:.2f}" width="{2 * half:.2f}" height="3.8" rx="0.6"'
        f' fill="{ground}" stroke="#111111" stroke-width="0.2"/>'
        f'<text x="{x:.2f}" y="{y + 1.1:.2f}" font-size="3" font-weight="bold" fill="{ink}"'
        f' text-anchor="middle">{escaped(text)}</text>'
    )


def _meet(a: Sequence[float], b: Sequence[float]) -> bool:
    return a[0] < b[2] and a[2] > b[0] and a[1] < b[3] and a[3] > b[1]


def _scale_bar(paper: _Paper) -> str:
    lengths = [(feet, feet * METRES_PER_FOOT * paper.scale) for feet in BAR_FEET]
    feet, length_mm = max((one for one in lengths if one[1] <= LONGEST_BAR_MM), default=lengths[0])
    y = paper.height_mm - 2.0
    return (
        f'<rect x="2" y="{y - 4.6:.2f}" width="{length_mm + 4:.2f}" height="6" fill="#ffffff"/>'
        f'<path d="M4 {y - 1.2:.2f}V{y:.2f}H{4 + length_mm:.2f}V{y - 1.2:.2f}" fill="none"'
        f' stroke="#111111" stroke-width="0.6"/>'
        f'<text x="{4 + length_mm / 2:.2f}" y="{y - 1.2:.2f}" font-size="2.8"'
        f' text-anchor="middle">{feet:,} ft</text>'
    )


def _north(paper: _Paper) -> str:
    x = paper.width_mm - 6.0
    return (
        f'<path d="M{x:.2f} 2L{x + 2.2:.2f} 9L{x:.2f} 7.4L{x - 2.2:.2f} 9Z" fill="#111111"/>'
        f'<text x="{x:.2f}" y="12.6" font-size="3.6" font-weight="bold"'
        f' text-anchor="middle">N</text>'
    )
