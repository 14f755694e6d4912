// Shapes: unpacked once into the flat square that web maps use (0 to 1 from west to east and from
// north to south), as it is quick to draw at any zoom and straight edges stay straight.
"use strict";

turfmap.shapes = (() => {
  const STEPS_PER_DEGREE = 5e6;
  const LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  const POINT = 0;
  const LINE = 1;
  const RING = 2;

  const across = (longitude) => longitude / 360 + 0.5;

  function down(latitude) {
    const sine = Math.sin((latitude * Math.PI) / 180);
    return 0.5 - Math.log((1 + sine) / (1 - sine)) / (4 * Math.PI);
  }

  function latLng(x, y) {
    const latitude = (Math.atan(Math.sinh(Math.PI * (1 - 2 * y))) * 180) / Math.PI;
    return L.latLng(latitude, (x - 0.5) * 360);
  }

  // Whole numbers from rows of letters: each row holds six bits of every number, lowest first.
  function numbers(rows) {
    const worth = new Map([...LETTERS].map((letter, value) => [letter.charCodeAt(0), value]));
    const worths = Array.from({ length: 128 }, (_, code) => worth.get(code) ?? 0);
    const found = new Float64Array(rows.length ? rows[0].length : 0);
    rows.forEach((row, place) => {
      for (let i = 0; i < found.length; i++) found[i] += worths[row.charCodeAt(i)] * 64 ** place;
    });
    // The sign is the lowest bit.
    return found.map((folded) => (folded % 2 ? -(folded + 1) / 2 : folded / 2));
  }

  // The columns of packed_shapes.py as a list of { parts: [{ kind, xy }], box }.
  function unpacked(columns) {
    const shapes = [];
    const steps = numbers(columns.steps);
    let part = 0;
    let step = 0;
    let longitude = 0;
    let latitude = 0;
    for (const count of columns.parts) {
      const shape = { parts: [], box: [Infinity, Infinity, -Infinity, -Infinity] };
      for (let i = 0; i < count; i++, part++) {
        const xy = new Float64Array(columns.sizes[part] * 2);
        for (let j = 0; j < xy.length; j += 2) {
          longitude += steps[step++];
          latitude += steps[step++];
          xy[j] = across(longitude / STEPS_PER_DEGREE);
          xy[j + 1] = down(latitude / STEPS_PER_DEGREE);
          stretch(shape.box, xy[j], xy[j + 1]);
        }
        shape.parts.push({ kind: columns.kinds[part], xy });
      }
      shapes.push(shape);
    }
    return shapes;
  }

  function stretch(box, x, y) {
    box[0] = Math.min(box[0], x);
    box[1] = Math.min(box[1], y);
    box[2] = Math.max(box[2], x);
    box[3] = Math.max(box[3], y);
  }

  function boxAround(shapes) {
    const box = [Infinity, Infinity, -Infinity, -Infinity];
    for (const shape of shapes) {
      if (!shape.parts.length) continue;
      stretch(box, shape.box[0], shape.box[1]);
      stretch(box, shape.box[2], shape.box[3]);
    }
    return box;
  }

  const overlap = (a, b) => a[0] <= b[2] && a[2] >= b[0] && a[1] <= b[3] && a[3] >= b[1];

  // Whether a shape has the place inside a ring, or within reach of a line or point.
  function touches(shape, x, y, reach) {
    const [west, north, east, south] = shape.box;
    if (x < west - reach || x > east + reach || y < north - reach || y > south + reach) {
      return false;
    }
    let inside = false;
    for (const { kind, xy } of shape.parts) {
      if (kind === RING) inside = inside !== insideRing(xy, x, y);
      else if (nearLine(xy, x, y, reach)) return true;
    }
    return inside;
  }

  function insideRing(xy, x, y) {
    let inside = false;
    for (let i = 0, j = xy.length - 2; i < xy.length; j = i, i += 2) {
      const crosses = xy[i + 1] > y !== xy[j + 1] > y;
      if (!crosses) continue;
      const at = xy[i] + ((xy[j] - xy[i]) * (y - xy[i + 1])) / (xy[j + 1] - xy[i + 1]);
      if (x < at) inside = !inside;
    }
    return inside;
  }

  function nearLine(xy, x, y, reach) {
    if (xy.length === 2) return Math.hypot(x - xy[0], y - xy[1]) <= reach;
    for (let i = 2; i < xy.length; i += 2) {
      const dx = xy[i] - xy[i - 2];
      const dy = xy[i + 1] - xy[i - 1];
      const along = ((x - xy[i - 2]) * dx + (y - xy[i - 1]) * dy) / (dx * dx + dy * dy || 1);
      const t = Math.max(0, Math.min(1, along));
      if (Math.hypot(x - xy[i - 2] - t * dx, y - xy[i - 1] - t * dy) <= reach) return true;
    }
    return false;
  }

  return { POINT, LINE, RING, latLng, unpacked, boxAround, overlap, touches };
})();
