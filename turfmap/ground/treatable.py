"""Treatable ground: the zone, less its obstacles, less the no-spray ground, every cause kept."""

from dataclasses import dataclass

import numpy as np
import shapely

from turfmap.foundations import plane
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes, area_parts, grouped_union
from turfmap.ground import nospray
from turfmap.ground.area import plan_areas
from turfmap.ground.near import Indices, near_pairs, pieces


@dataclass(frozen=True)
class Things:
    """Features that take ground from zones.

    Attributes
    ----------
    shapes
        Points, lines or areas in EPSG:4326, shape (m,).
    radius_m
        Ground is taken this far from each, shape (m,) [m]: half the width of an obstacle drawn as
        a line, the setback plus margin of a protected feature. 0 takes the shape itself.
    """

    shapes: Shapes
    radius_m: Floats


@dataclass(frozen=True)
class Losses:
    """What each protected feature takes from each zone, one row a pair, shape (p,).

    Attributes
    ----------
    zone, feature
        Indices; rows are ordered by zone, then by the order of the features.
    lost_m2
        Ground taken that no earlier feature took [m2]: these sum to the zone's no-spray ground.
    gross_lost_m2
        All the ground within this feature's reach, shared or not [m2].
    """

    zone: Indices
    feature: Indices
    lost_m2: Floats
    gross_lost_m2: Floats


@dataclass(frozen=True)
class Treatable:
    """The parts of each zone, shape (n,): gross = obstacle + no-spray + treatable.

    Attributes
    ----------
    gross_m2, obstacle_m2, no_spray_m2, treatable_m2
        Plan areas on the ellipsoid [m2].
    flat
        The treatable ground on the planes of `origin` [m].
    origin
        Longitude and latitude of each zone's plane, shape (n, 2) [deg].
    losses
        The no-spray ground by cause.
    """

    gross_m2: Floats
    obstacle_m2: Floats
    no_spray_m2: Floats
    treatable_m2: Floats
    flat: Shapes
    origin: Floats
    losses: Losses

    def shapes(self) -> Shapes:
        """Return the treatable ground in EPSG:4326, edges cut so that no setback is crossed."""
        return plane.unflatten(nospray.ready_to_publish(self.flat), self.origin)


def treatable(zones: Shapes, obstacles: Things, protected: Things) -> Treatable:
    """Cut every zone by what lies near it.

    Parameters
    ----------
    zones
        Valid polygons or multipolygons in EPSG:4326, shape (n,); missing ones have no ground.
    obstacles
        Ground that is not treated. Its own edge, plus half its width.
    protected
        Features with setbacks, in the order in which shared ground is attributed.

    Returns
    -------
    Treatable
        Areas, treatable shapes and losses, in the order of `zones`.
    """
    boxes = plane.bounds(zones)
    origin = np.nan_to_num(plane.origins(boxes))
    flat = plane.flatten(plane.along_geodesics(zones, boxes), origin)
    gross = plan_areas(flat, origin[:, 1])
    on_plane = shapely.area(flat)
    # What a square metre of this zone's plane is on the ground; the same for all its parts, so
    # that the parts sum to the whole.
    scale = np.divide(gross, on_plane, out=np.ones_like(gross), where=on_plane > 0.0)

    zone, _, blade = _blades(flat, boxes, origin, obstacles, on_plane_radius=obstacles.radius_m)
    blade, zone = grouped_union(blade, zone)
    open_ground = flat.copy()
    open_ground[zone] = area_parts(shapely.difference(flat[zone], blade))

    reach = _reach(protected)
    zone, feature, blade = _blades(flat, boxes, origin, protected, on_plane_radius=reach)
    left, losses = _cut_in_order(open_ground, zone, feature, blade, scale)
    obstacle = np.maximum(gross - shapely.area(open_ground) * scale, 0.0)
    return Treatable(
        gross_m2=gross,
        obstacle_m2=obstacle,
        no_spray_m2=np.bincount(losses.zone, losses.lost_m2, zones.size).astype(np.float64),
        treatable_m2=shapely.area(left) * scale,
        flat=left,
        origin=origin,
        losses=losses,
    )


def no_spray_ground(protected: Things) -> Shapes:
    """Return the no-spray ground of each protected feature in EPSG:4326, shape (m,)."""
    origin = np.nan_to_num(plane.origins(plane.bounds(protected.shapes)))
    flat = plane.flatten(protected.shapes, origin)
    drawn = nospray.drawn_round(flat, _reach(protected))
    return plane.unflatten(nospray.ready_to_publish(drawn), origin)


def _reach(protected: Things) -> Floats:
    origin = np.nan_to_num(plane.origins(plane.bounds(protected.shapes)))
    edges = nospray.longest_edges(plane.flatten(protected.shapes, origin))
    return nospray.reach(protected.radius_m, edges, origin[:, 1])


def _blades(
    flat: Shapes, boxes: Floats, origin: Floats, things: Things, *, on_plane_radius: Floats
) -> tuple[Indices, Indices, Shapes]:
    """Return what each near thing cuts out of each zone, on the zone's plane.

    Rows (zone, thing, blade) are ordered by zone, then thing, one for each pair.
    """
    single, owner = pieces(things.shapes)
    radius = on_plane_radius[owner]
    zone, piece = near_pairs(boxes, plane.bounds(single), radius)
    # Zones of one tile share a plane: each piece is flattened and drawn once for each tile.
    keys = np.column_stack([piece, origin[zone]])
    distinct, place = np.unique(keys, axis=0, return_inverse=True)
    which = distinct[:, 0].astype(np.int64)
    flat_pieces = plane.flatten(single[which], distinct[:, 1:])
    # The stubs know only one distance for all.
    near = shapely.dwithin(flat[zone], flat_pieces[place], radius[piece])  # type: ignore[call-overload]
    zone, piece, place = zone[near], piece[near], place[near]
    drawn = flat_pieces.copy()
    grow = np.unique(place[radius[piece] > 0.0])
    drawn[grow] = nospray.drawn_round(flat_pieces[grow], radius[which[grow]])

    pair = zone * np.int64(max(things.shapes.size, 1)) + owner[piece]
    order = np.argsort(pair, kind="stable")
    blade, pair = grouped_union(drawn[place[order]], pair[order])
    return *np.divmod(pair, max(things.shapes.size, 1)), blade


def _cut_in_order(
    ground: Shapes, zone: Indices, feature: Indices, blade: Shapes, scale: Floats
) -> tuple[Shapes, Losses]:
    """Take each feature's ground from its zones, first features first."""
    left = ground.copy()
    lost = np.zeros(zone.size)
    gross = shapely.area(shapely.intersection(ground[zone], blade)) * scale[zone]
    starts = np.flatnonzero(np.r_[True, zone[1:] != zone[:-1]][: zone.size])
    turn = np.arange(zone.size) - np.repeat(starts, np.diff(np.r_[starts, zone.size]))
    for each in range(int(turn.max(initial=-1)) + 1):
        now = np.flatnonzero(turn == each)
        before = shapely.area(left[zone[now]])
        left[zone[now]] = area_parts(shapely.difference(left[zone[now]], blade[now]))
        lost[now] = (before - shapely.area(left[zone[now]])) * scale[zone[now]]
    takes = gross > 0.0
    return left, Losses(zone[takes], feature[takes], np.maximum(lost[takes], 0.0), gross[takes])
