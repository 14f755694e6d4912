// May I treat where I stand? Never "yes": only stop, unsure, or outside the ground that is known to
// be no-spray. The same rule as in turfmap/ground/here.py.
"use strict";

turfmap.verdict = (() => {
  const { isInside, edge } = turfmap.measure;
  const COARSEST_M = 30; // of a worse position neither number nor zone is said
  const FAR_M = 150; // so far outside the property, its plan says nothing of the ground
  const METRES_PER_FOOT = 0.3048;
  const POINTS = ["n", "ne", "e", "se", "s", "sw", "w", "nw"];

  // `place` as made in start.js; a position has x, y and accuracy, all in metres.
  function verdict(place, { x, y, accuracy }) {
    if (!(accuracy >= 0 && accuracy <= COARSEST_M)) return { state: "unsure", why: "coarse", accuracy };
    const off = outsideProperty(place, x, y);
    const causes = place.causes.map((cause) => judged(cause, x, y, accuracy));
    const inside = causes.filter((one) => one.isInside);
    const isFar = off && off.distance > FAR_M + accuracy && !inside.length;
    if (isFar) return { state: "unsure", why: "far", ...off };
    return {
      ...state(place, causes, Boolean(off)),
      isInside: inside.length > 0,
      ...nearestEdge(place, causes, inside, [x, y]),
      zone: ownerOf(place.zones.filter(({ shape }) => isInside(shape, x, y))),
      things: place.things.filter(({ layer, shape }) => layer === "obstacle" && isInside(shape, x, y)),
      zoneIsSure: place.zones.every(({ shape }) => edge(shape, x, y).distance > accuracy),
    };
  }

  // Of zones of one rank drawn over each other, the strictest counts, as in turfmap/desk/check_here.py.
  const STRICT = { go: 0, wait: 1, no: 2 };
  const isBefore = (a, b) => a.rank < b.rank || (a.rank === b.rank && STRICT[a.answer] > STRICT[b.answer]);
  const ownerOf = ([first, ...others]) => others.reduce((a, b) => (isBefore(b, a) ? b : a), first) || null;

  // Each cause is judged by its own edge, never the nearest alone: one more cause never frees ground.
  function judged(cause, x, y, accuracy) {
    const inside = isInside(cause.shape, x, y);
    const { distance, way } = edge(cause.shape, x, y);
    const isNear = distance <= accuracy + cause.margin_m;
    return { cause, isInside: inside, distance, way, stops: inside && !isNear, isUnsure: inside || isNear };
  }

  function state(place, causes, isOff) {
    if (causes.some(({ stops }) => stops)) return { state: "stop", why: "inside" };
    if (causes.some(({ isUnsure }) => isUnsure)) return { state: "unsure", why: "edge" };
    if (isOff) return { state: "unsure", why: "off_property" };
    if (!place.surveyed_on) return { state: "unsure", why: "not_surveyed" };
    return { state: "outside", why: "outside" };
  }

  // Inside: how far it is out of all of it, and the deepest cause. Outside: the nearest cause.
  function nearestEdge(place, causes, inside, [x, y]) {
    if (!causes.length) return { distance: Infinity, cause: null };
    const better = inside.length ? (a, b) => b.distance > a.distance : (a, b) => b.distance < a.distance;
    const first = (inside.length ? inside : causes).reduce((a, b) => (better(a, b) ? b : a));
    const { distance, way } = inside.length ? edge(place.keepOff, x, y) : first;
    return { distance, direction: direction(way), cause: first.cause };
  }

  function outsideProperty({ grounds }, x, y) {
    if (!grounds.length || grounds.some((ground) => isInside(ground, x, y))) return null;
    const found = grounds.map((ground) => edge(ground, x, y)).reduce((a, b) => (b.distance < a.distance ? b : a));
    return { distance: found.distance, direction: direction(found.way) };
  }

  function direction([x, y]) {
    const bearing = ((Math.atan2(x, y) * 180) / Math.PI + 360) % 360;
    return POINTS[Math.floor((bearing + 22.5) / 45) % 8];
  }

  // Rounded so that nobody walks too short: up while inside, down while outside.
  function wholeFeet({ distance, isInside: inside }) {
    const feet = distance / METRES_PER_FOOT;
    return inside ? Math.ceil(feet) : Math.floor(feet);
  }

  return Object.assign(verdict, { wholeFeet, METRES_PER_FOOT });
})();
