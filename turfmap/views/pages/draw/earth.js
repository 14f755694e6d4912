// Sums on the Earth: areas, lengths and small steps, and shapes as the ground is drawn from.
"use strict";

turfmap.earth = (() => {
  const { shapes } = turfmap;

  // WGS 84 (NGA.STND.0036).
  const SEMI_MAJOR_M = 6378137;
  const FLATTENING = 1 / 298.257223563;
  const E2 = FLATTENING * (2 - FLATTENING);
  const E = Math.sqrt(E2);
  const radians = (degrees) => (degrees * Math.PI) / 180;

  // The sphere of the same surface, and the latitude on it below which lies as much ground
  // (Snyder, Map Projections: A Working Manual, equations 3-11 to 3-13).
  function q(latitude) {
    const sine = Math.sin(radians(latitude));
    return (1 - E2) * (sine / (1 - E2 * sine * sine) + Math.atanh(E * sine) / E);
  }
  const Q_POLE = q(90);
  const RADIUS2 = (SEMI_MAJOR_M ** 2 * Q_POLE) / 2;

  // Twice the signed area of a ring, in the equal-area plane.
  function ringArea(ring) {
    if (ring.length < 4) return 0;
    const [firstX, firstY] = ring[0];
    const originY = q(firstY);
    let sum = 0;
    let [lastX, lastY] = [0, 0];
    for (let i = 1; i < ring.length; i++) {
      const x = radians(ring[i][0] - firstX);
      const y = (q(ring[i][1]) - originY) / Q_POLE;
      sum += lastX * y - x * lastY;
      [lastX, lastY] = [x, y];
    }
    return Math.abs(sum / 2) * RADIUS2;
  }

  const polygonArea = ([outer, ...holes]) =>
    holes.reduce((sum, hole) => sum - ringArea(hole), ringArea(outer || []));

  const polygonsOf = (geometry) => {
    if (geometry?.type === "Polygon") return [geometry.coordinates];
    return geometry?.type === "MultiPolygon" ? geometry.coordinates : [];
  };

  // Square metres; 0 for what is no ground.
  const area = (geometry) =>
    polygonsOf(geometry).reduce((sum, polygon) => sum + polygonArea(polygon), 0);

  // Metres in one degree at a latitude, along its parallel and its meridian.
  function degreeLengths(latitude) {
    const w2 = 1 - E2 * Math.sin(radians(latitude)) ** 2;
    return [radians(1) * (SEMI_MAJOR_M / Math.sqrt(w2)) * Math.cos(radians(latitude)),
      radians(1) * SEMI_MAJOR_M * ((1 - E2) / w2 ** 1.5)];
  }

  function distance([x, y], [toX, toY]) {
    const [across, along] = degreeLengths((y + toY) / 2);
    return Math.hypot((toX - x) * across, (toY - y) * along);
  }

  const pathLength = (path) => path.slice(1).reduce((sum, at, i) => sum + distance(path[i], at), 0);

  // Of every line and edge [m].
  const length = (geometry) => linesOf(geometry).reduce((sum, line) => sum + pathLength(line), 0);

  function linesOf({ type, coordinates }) {
    if (type === "LineString") return [coordinates];
    if (type === "MultiLineString" || type === "Polygon") return coordinates;
    return type === "MultiPolygon" ? coordinates.flat() : [];
  }

  function pointsOf({ type, coordinates }) {
    if (type === "Point") return [coordinates];
    return type === "MultiPoint" ? coordinates : [];
  }

  function moved(latLng, eastM, northM) {
    const [across, along] = degreeLengths(latLng.lat);
    return L.latLng(latLng.lat + northM / along, latLng.lng + eastM / across);
  }

  // How many corners a shape has; the last of a ring is its first again.
  function corners(geometry) {
    const closing = polygonsOf(geometry).flat().length;
    return linesOf(geometry).reduce((sum, line) => sum + line.length, 0) - closing +
      pointsOf(geometry).length;
  }

  // In the flat square of shapes.js.
  function flat([longitude, latitude]) {
    const sine = Math.sin(radians(latitude));
    return [longitude / 360 + 0.5, 0.5 - Math.log((1 + sine) / (1 - sine)) / (4 * Math.PI)];
  }

  function shapeOf(geometry) {
    if (geometry?.type === "GeometryCollection") return joined(geometry.geometries.map(shapeOf));
    const box = [Infinity, Infinity, -Infinity, -Infinity];
    if (!geometry?.coordinates) return { box, parts: [], count: 0 };
    const lineKind = polygonsOf(geometry).length ? shapes.RING : shapes.LINE;
    const parts = [
      ...linesOf(geometry).map((line) => ({ kind: lineKind, xy: laidOut(line, box) })),
      ...pointsOf(geometry).map((point) => ({ kind: shapes.POINT, xy: laidOut([point], box) })),
    ];
    return { box, parts, count: parts.length };
  }

  const joined = (all) => ({ box: shapes.boxAround(all), parts: all.flatMap(({ parts }) => parts),
    count: all.reduce((sum, { count }) => sum + count, 0) });

  function laidOut(line, box) {
    const xy = new Float64Array(line.length * 2);
    line.forEach((place, i) => {
      const [x, y] = flat(place);
      [xy[2 * i], xy[2 * i + 1]] = [x, y];
      box[0] = Math.min(box[0], x);
      box[1] = Math.min(box[1], y);
      box[2] = Math.max(box[2], x);
      box[3] = Math.max(box[3], y);
    });
    return xy;
  }

  function boundsOf({ box }) {
    return L.latLngBounds(shapes.latLng(box[0], box[3]), shapes.latLng(box[2], box[1]));
  }

  // Whether a place lies in a ring of corners.
  function isInside([x, y], ring) {
    let inside = false;
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
      const [[xi, yi], [xj, yj]] = [ring[i], ring[j]];
      if (yi > y !== yj > y && x < xi + ((xj - xi) * (y - yi)) / (yj - yi)) inside = !inside;
    }
    return inside;
  }

  return { area, length, moved, corners, shapeOf, boundsOf, isInside, polygonsOf, linesOf, pointsOf };
})();
