// Where a zone's letters go: the roomiest place in it, found on a coarse grid.
"use strict";

turfmap.labelRoom = (() => {
  const { shapes } = turfmap;
  const STEPS = 9;

  function gap(x, y, xy) {
    let nearest = Infinity;
    for (let i = 2; i < xy.length; i += 2) {
      const [dx, dy] = [xy[i] - xy[i - 2], xy[i + 1] - xy[i - 1]];
      const along = ((x - xy[i - 2]) * dx + (y - xy[i - 1]) * dy) / (dx * dx + dy * dy || 1);
      const t = Math.max(0, Math.min(1, along));
      nearest = Math.min(nearest, Math.hypot(x - xy[i - 2] - t * dx, y - xy[i - 1] - t * dy));
    }
    return nearest;
  }

  // The middle of the room, and how far it reaches to the nearest edge.
  return ({ box: [west, north, east, south], parts }) => {
    const rings = parts.filter(({ kind }) => kind === shapes.RING).map(({ xy }) => xy);
    const shape = { box: [west, north, east, south], parts };
    let best = { centre: [(west + east) / 2, (north + south) / 2], room: 0 };
    for (let i = 0.5; i < STEPS; i++) {
      for (let j = 0.5; j < STEPS; j++) {
        const x = west + ((east - west) * i) / STEPS;
        const y = north + ((south - north) * j) / STEPS;
        if (!shapes.touches(shape, x, y, 0)) continue;
        const room = Math.min(...rings.map((xy) => gap(x, y, xy)));
        if (room > best.room) best = { centre: [x, y], room };
      }
    }
    return best;
  };
})();
