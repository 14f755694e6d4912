// Shapes: unpacked once into the flat square that web maps use (0 to 1 from west to east and from
// north to south), as it is quick to draw at any zoom and straight edges stay straight.
"use strict";

turfmap.shapes = (() => {
  const STEPS_PER_DEGREE = 1e7;
  const POINT = 0;
  const LINE = 1;
  const RING = 2;

  const across = (longitude) => longitude / 360 + 0.5;

  function down(latitude) {
    const sine = Math.sin((latitude * Math.PI) / 180);
    return 0.5 - Math.log((1 + sine) / (1 - sine)) / (4 * Math.PI);
  }

  // A place in steps of 1e-7 degree, as [x, y] in the square.
  const place = ([longitude, latitude]) =>
    [across(longitude / STEPS_PER_DEGREE), down(latitude / STEPS_PER_DEGREE)];

  // A length in steps of latitude, near a place, as a length in the square.
  function length(steps, [, latitude]) {
    const radians = ((latitude / STEPS_PER_DEGREE) * Math.PI) / 180;
    return steps / STEPS_PER_DEGREE / 360 / Math.cos(radians);
  }

  function latLng(x, y) {
    const latitude = (Math.atan(Math.sinh(Math.PI * (1 - 2 * y))) * 180) / Math.PI;
    return L.latLng(latitude, (x - 0.5) * 360);
  }

  // The columns of packed_shapes.py as a list of { parts: [{ kind, xy }], box }.
  function unpacked(columns) {
    const shapes = [];
    let part = 0;
    let step = 0;
    let longitude = 0;
    let latitude = 0;
    for (const count of columns.parts) {
      const shape = { parts: [], box: [Infinity, Infinity, -Infinity, -Infinity] };
      for (let i = 0; i < count; i++, part++) {
        const xy = new Float64Array(columns.sizes[part] * 2);
        for (let j = 0; j < xy.length; j += 2) {
          longitude += columns.steps[step++];
          latitude += columns.steps[step++];
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

  return { POINT, LINE, RING, place, length, latLng, unpacked, boxAround, overlap, touches };
})();
