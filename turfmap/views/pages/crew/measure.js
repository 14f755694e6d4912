// Shapes in metres: which hold a place, and how far it is to their edge.
"use strict";

turfmap.measure = (() => {
  const RING = 2;

  // From crew_page.py: parts as steps from corner to corner in millimetres.
  function shape(parts) {
    const box = [Infinity, Infinity, -Infinity, -Infinity];
    const lines = parts.map(([kind, steps]) => {
      const xy = new Float64Array(steps.length);
      let [x, y] = [0, 0];
      for (let i = 0; i < steps.length; i += 2) {
        x += steps[i];
        y += steps[i + 1];
        stretch(box, (xy[i] = x / 1000), (xy[i + 1] = y / 1000));
      }
      return { kind, xy };
    });
    return { lines, box };
  }

  function stretch(box, x, y) {
    if (x < box[0]) box[0] = x;
    if (y < box[1]) box[1] = y;
    if (x > box[2]) box[2] = x;
    if (y > box[3]) box[3] = y;
  }

  function boxAround(shapes) {
    const box = [Infinity, Infinity, -Infinity, -Infinity];
    for (const { box: own } of shapes) {
      if (own[0] > own[2]) continue;
      stretch(box, own[0], own[1]);
      stretch(box, own[2], own[3]);
    }
    return box;
  }

  // By the even-odd rule over all rings together: a hole is one more ring.
  function isInside({ lines, box }, x, y) {
    if (x < box[0] || x > box[2] || y < box[1] || y > box[3]) return false;
    let inside = false;
    for (const { kind, xy } of lines) if (kind === RING && isInRing(xy, x, y)) inside = !inside;
    return inside;
  }

  function isInRing(xy, x, y) {
    let inside = false;
    for (let i = 0, j = xy.length - 2; i < xy.length; j = i, i += 2) {
      if (xy[i + 1] > y === xy[j + 1] > y) continue;
      const crossing = ((xy[j] - xy[i]) * (y - xy[i + 1])) / (xy[j + 1] - xy[i + 1]) + xy[i];
      if (x < crossing) inside = !inside;
    }
    return inside;
  }

  // The least distance to an edge, and from the place the way to it; Infinity without any edge.
  function edge({ lines }, x, y) {
    let least = Infinity;
    let toX = 0;
    let toY = 0;
    for (const { kind, xy } of lines) {
      const last = xy.length - 2;
      for (let i = 0, j = kind === RING ? last : 0; i < xy.length; j = i, i += 2) {
        const dx = xy[i] - xy[j];
        const dy = xy[i + 1] - xy[j + 1];
        const along = ((x - xy[j]) * dx + (y - xy[j + 1]) * dy) / (dx * dx + dy * dy || 1);
        const part = along < 0 ? 0 : along > 1 ? 1 : along;
        const wayX = xy[j] + part * dx - x;
        const wayY = xy[j + 1] + part * dy - y;
        const squared = wayX * wayX + wayY * wayY;
        if (squared >= least) continue;
        least = squared;
        toX = wayX;
        toY = wayY;
      }
    }
    return { distance: Math.sqrt(least), way: [toX, toY] };
  }

  return { shape, boxAround, isInside, edge };
})();
