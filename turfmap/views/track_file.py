"""A plan as tracks for a navigation device: a route a truck-day, a waypoint a stop.

References
----------
GPX 1.1 Schema Documentation (topografix.com/GPX/1/1). Times are left out: GPX wants them in UTC,
and a plan knows the clock of the place alone.
"""

from gpxpy.gpx import GPX, GPXRoute, GPXRoutePoint, GPXWaypoint

from turfmap.views.calendar_file import plain_text
from turfmap.views.outings import (
    Call,
    Outing,
    Plain,
    amount_words,
    clock_words,
    note_words,
    outings,
    zone_words,
)

TRACK_MARK = 'creator="turfmap"'
DEPOT, REFILL = "Depot", "Refill"


def track_text(plan: Plain) -> str:
    """Return a plan as GPX 1.1; the same plan gives the same bytes."""
    gpx = GPX()
    gpx.creator = "turfmap"
    gpx.name = "Spray days"
    gpx.description = plain_text(plan["travel"]["basis"])
    for outing in outings(plan):
        gpx.routes.append(_route(outing))
        gpx.waypoints += [_waypoint(outing, call) for call in outing.stops]
    text: str = gpx.to_xml(version="1.1")
    return text


def _route(outing: Outing) -> GPXRoute:
    route = GPXRoute(name=plain_text(outing.title), description=plain_text(outing.of["weather"]))
    ends = GPXRoutePoint(outing.depot[1], outing.depot[0], name=DEPOT)
    points = [GPXRoutePoint(*call.lon_lat[::-1], name=_name(call)) for call in outing.calls]
    route.points += [ends, *points, ends]
    return route


def _name(call: Call) -> str:
    if call.stop is None:
        return REFILL
    return plain_text(f"{call.leg['number']} {call.stop['property']}")


def _waypoint(outing: Outing, call: Call) -> GPXWaypoint:
    longitude, latitude = call.lon_lat
    stop = call.stop or {}
    lines = [
        f"{outing.title}, {clock_words(call.leg['starts'])}",
        stop["title"],
        zone_words(stop),
        amount_words(stop),
        *note_words(stop),
    ]
    said = plain_text("\n".join(line for line in lines if line))
    return GPXWaypoint(latitude, longitude, name=_name(call), description=said)
