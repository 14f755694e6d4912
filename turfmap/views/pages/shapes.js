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

  // The whole numbers of packed_shapes.py: two rows of letters, each with six bits of every number,
  // and what few numbers have above them.
  function numbers({ near: [low, high], far_at: farAt, far }) {
    const worths = new Uint8Array(128);
    [...LETTERS].forEach((letter, value) => { worths[letter.charCodeAt(0)] = value; });
    const found = new Int32Array(low.length);
    for (let i = 0; i < found.length; i++) {
      found[i] = worths[low.charCodeAt(i)] | (worths[high.charCodeAt(i)] << 6);
    }
    let at = 0;
    far.forEach((above, i) => { found[(at += farAt[i])] |= above << 12; });
    // The sign is the lowest bit.
    for (let i = 0; i < found.length; i++) found[i] = (found[i] >>> 1) ^ -(found[i] & 1);
    return found;
  }

  // A shape knows its box at once. Its parts, each { kind, xy }, are laid out when first asked for:
  // of ten thousand zones most are never seen from near.
  class Shape {
    constructor(columns, part, count, start, [longitude, latitude]) {
      this.columns = columns;
      this.part = part;
      this.count = count;
      this.start = start;
      this.longitude = longitude;
      this.latitude = latitude;
      this.box = [Infinity, Infinity, -Infinity, -Infinity];
      this.laidOut = count ? null : [];
    }

    get parts() {
      this.laidOut ??= this.layOut();
      return this.laidOut;
    }

    layOut() {
      const { sizes, kinds, steps } = this.columns;
      let { longitude, latitude, start: step } = this;
      return Array.from({ length: this.count }, (_, i) => {
        const xy = new Float64Array(sizes[this.part + i] * 2);
        for (let j = 0; j < xy.length; j += 2) {
          longitude += steps[step++];
          latitude += steps[step++];
          xy[j] = across(longitude / STEPS_PER_DEGREE);
          xy[j + 1] = down(latitude / STEPS_PER_DEGREE);
        }
        return { kind: kinds[this.part + i], xy };
      });
    }
  }

  // The columns of packed_shapes.py as a list of shapes.
  function unpacked(packed) {
    const columns = { ...packed, steps: numbers(packed.steps) };
    const { steps, sizes } = columns;
    const corner = [0, 0];
    let part = 0;
    let step = 0;
    return columns.parts.map((count) => {
      const shape = new Shape(columns, part, count, step, corner);
      let corners = 0;
      for (let i = 0; i < count; i++) corners += sizes[part++];
      step = walk(shape.box, steps, step, corners, corner);
      return shape;
    });
  }

  // Follows the steps from corner to corner, and stretches a box over all of them.
  function walk(box, steps, start, corners, corner) {
    let [longitude, latitude] = corner;
    let [west, south, east, north] = [Infinity, Infinity, -Infinity, -Infinity];
    let step = start;
    for (let i = 0; i < corners; i++) {
      longitude += steps[step++];
      latitude += steps[step++];
      if (longitude < west) west = longitude;
      if (longitude > east) east = longitude;
      if (latitude < south) south = latitude;
      if (latitude > north) north = latitude;
    }
    [corner[0], corner[1]] = [longitude, latitude];
    if (corners) {
      box[0] = across(west / STEPS_PER_DEGREE);
      box[1] = down(north / STEPS_PER_DEGREE);
      box[2] = across(east / STEPS_PER_DEGREE);
      box[3] = down(south / STEPS_PER_DEGREE);
    }
    return step;
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
      if (!shape.count) continue;
      stretch(box, shape.box[0], shape.box[1]);
      stretch(box, shape.box[2], shape.box[3]);
    }
    return box;
  }

  const middle = ([west, north, east, south]) => [(west + east) / 2, (north + south) / 2];

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

  return { POINT, LINE, RING, across, down, latLng, unpacked, boxAround, middle, overlap, touches };
})();
