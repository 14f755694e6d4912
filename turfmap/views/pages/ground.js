// The ground, drawn on canvas tiles: one layer for all, so that the order of paint never changes
// and a pan moves pictures that are already there. Every corner is drawn, at every zoom.
"use strict";

turfmap.Ground = L.GridLayer.extend({
  options: { tileSize: 480, maxZoom: 23, updateWhenZooming: false, keepBuffer: 1 },

  // From the ground up: what no-spray ground is there for stands on top of it.
  ORDER: ["property", "zone", "slope", "sun", "obstacle", "canopy", "no_spray", "water", "sensitive_site", "gate",
    "odd"],

  // A thing smaller than this would be a speck, and is left out until one comes nearer; so is a
  // zone, but later.
  SMALLEST_THING: 5,
  SMALLEST_ZONE: 1.5,

  // `content` has `properties` and `things`. When the usual property would be smaller than
  // `signsBelow` pixels, each is drawn as one sign, unless it is much larger than usual.
  initialize(content, isShown, { signsBelow }) {
    L.GridLayer.prototype.initialize.call(this);
    this.content = content;
    this.signsBelow = signsBelow;
    const sizes = content.properties.map(({ box }) => this.across(box)).sort((a, b) => a - b);
    this.usual = sizes[sizes.length >> 1];
    this.isShown = isShown;
    this.isKept = () => true;
  },

  createTile(coords) {
    const side = this.options.tileSize;
    const [tile, pen] = turfmap.paint.canvas(side, side);
    const scale = this._map.options.crs.scale(coords.z);
    const [west, north] = [coords.x * side, coords.y * side];
    const view = { pen, scale, west, north, side, zoom: Math.log2(scale / 256) };
    const reach = 40 / scale; // signs and labels reach over the edge of a tile
    view.box = [west / scale - reach, north / scale - reach,
      (west + side) / scale + reach, (north + side) / scale + reach];
    pen.lineJoin = "round";
    for (const layer of this.ORDER) if (this.isShown(layer)) this.drawLayer(view, layer);
    if (this.isShown("zone")) this.drawLabels(view);
    if (this.isShown("odd")) this.drawNumbers(view);
    return tile;
  },

  drawLayer(view, layer) {
    if (layer === "zone") return this.drawZones(view);
    if (layer === "slope" || layer === "sun") return this.content.overlay?.draw(view, layer);
    const look = turfmap.paint.GROUND[layer];
    for (const thing of this.content.things[layer] || []) {
      if (!turfmap.shapes.overlap(thing.shape.box, view.box)) continue;
      if (this.isSpeck(thing.shape, view, this.SMALLEST_THING)) continue;
      this.drawShape(view, thing.shape, look);
    }
  },

  across: ([west, north, east, south]) => Math.max(east - west, south - north),

  isSpeck({ box }, { scale, zoom }, smallest) {
    const across = this.across(box);
    return across === 0 ? zoom < 15 : across * scale < smallest; // a point has no size
  },

  drawZones(view) {
    const { pen } = view;
    for (const property of this.content.properties) {
      if (!turfmap.shapes.overlap(property.box, view.box)) continue;
      if (this.isSign(property, view.scale)) continue;
      for (const zone of property.zones) {
        if (!turfmap.shapes.overlap(zone.shape.box, view.box)) continue;
        if (this.isSpeck(zone.shape, view, this.SMALLEST_ZONE)) continue;
        pen.globalAlpha = this.isKept(zone) ? 1 : 0.15;
        this.drawShape(view, zone.shape, {
          fill: turfmap.paint.stateFill(zone.state),
          stroke: turfmap.paint.INK,
          width: 1.4,
        });
      }
    }
    pen.globalAlpha = 1;
  },

  isSign(property, scale) {
    if (this.content.properties.length === 1) return false;
    return this.usual * scale < this.signsBelow &&
      this.across(property.box) * scale < 2 * this.signsBelow;
  },

  drawShape(view, shape, look) {
    const { pen } = view;
    pen.fillStyle = look.fill;
    pen.strokeStyle = look.stroke;
    pen.beginPath();
    let hasRing = false;
    for (const { kind, xy } of shape.parts) {
      if (kind === turfmap.shapes.POINT) continue;
      hasRing ||= kind === turfmap.shapes.RING;
      this.trace(view, xy);
      if (kind === turfmap.shapes.RING) pen.closePath();
    }
    if (hasRing) pen.fill("evenodd");
    this.drawEdge(view, look);
    for (const { kind, xy } of shape.parts) {
      if (kind !== turfmap.shapes.POINT) continue;
      const size = Math.max(3, Math.min(6, 1.5 * (view.zoom - 15)));
      turfmap.paint.mark(pen, look.mark, ...this.pixel(view, xy[0], xy[1]), size);
    }
  },

  drawEdge({ pen, zoom }, { stroke, width, dash = [], casing }) {
    const share = zoom < 17 && !casing ? 0.5 : 1;
    for (const [colour, wide] of casing ? [[casing, width + 4], [stroke, width]] : [[stroke, width]]) {
      pen.strokeStyle = colour;
      pen.lineWidth = wide * share;
      pen.setLineDash(dash);
      pen.stroke();
    }
    pen.setLineDash([]);
  },

  trace(view, xy) {
    const { pen, scale, west, north } = view;
    pen.moveTo(xy[0] * scale - west, xy[1] * scale - north);
    for (let i = 2; i < xy.length; i += 2) {
      pen.lineTo(xy[i] * scale - west, xy[i + 1] * scale - north);
    }
  },

  pixel: (view, x, y) => [x * view.scale - view.west, y * view.scale - view.north],

  // Letters of the next task where there is room; the name under them where there is more.
  drawLabels(view) {
    for (const property of this.content.properties) {
      if (!turfmap.shapes.overlap(property.box, view.box)) continue;
      if (this.isSign(property, view.scale)) {
        this.drawSign(view, property);
        continue;
      }
      for (const zone of property.zones) {
        const room = zone.room * view.scale;
        if (room < 15 || !zone.code || !this.isKept(zone)) continue;
        if (turfmap.shapes.overlap(zone.shape.box, view.box)) this.drawCode(view, zone, room);
      }
    }
  },

  drawCode({ pen, ...view }, zone, room) {
    const [x, y] = this.pixel(view, ...zone.centre);
    pen.textAlign = "center";
    pen.textBaseline = "middle";
    this.drawPlate(pen, zone.code, x, y, 14, "bold 14px system-ui, sans-serif");
    pen.font = "13px system-ui, sans-serif";
    if (room > 34 && pen.measureText(zone.name).width < room * 1.7) {
      this.drawPlate(pen, zone.name, x, y + 21, 12, pen.font);
    }
  },

  drawPlate(pen, text, x, y, size, font, plate = "rgba(255, 255, 255, 0.94)",
    ink = turfmap.paint.INK) {
    pen.font = font;
    const width = pen.measureText(text).width + 10;
    pen.fillStyle = plate;
    pen.beginPath();
    pen.roundRect(x - width / 2, y - size / 2 - 3, width, size + 6, 3);
    pen.fill();
    pen.fillStyle = ink;
    pen.fillText(text, x, y + 0.5);
  },

  // What is odd keeps its number at every zoom, and the first lies on top.
  drawNumbers({ pen, ...view }) {
    pen.textAlign = "center";
    pen.textBaseline = "middle";
    for (const thing of [...this.content.things.odd].reverse()) {
      if (!thing.shape.count || !this.isKept(thing)) continue;
      if (!turfmap.shapes.overlap(thing.shape.box, view.box)) continue;
      this.drawPlate(pen, thing.number, ...this.pixel(view, ...thing.centre), 14,
        "bold 14px system-ui, sans-serif", turfmap.paint.GROUND.odd.stroke, "#ffffff");
    }
  },

  // One sign a property: the state that comes first, and how many zones there are.
  drawSign(view, property) {
    const { pen } = view;
    const kept = property.zones.filter(this.isKept);
    const [zone] = kept.length ? kept : property.zones;
    const [x, y] = this.pixel(view, ...turfmap.shapes.middle(property.box));
    // As large as its property lets it be, so that neighbours do not hide each other.
    const size = Math.max(4.5, Math.min(12, this.across(property.box) * view.scale * 0.45));
    pen.globalAlpha = kept.length ? 1 : 0.15;
    pen.fillStyle = turfmap.paint.stateFill(zone.state);
    pen.strokeStyle = turfmap.paint.INK;
    pen.lineWidth = 1.25;
    turfmap.paint.mark(pen, "circle", x, y, size);
    if (size > 7) this.drawCount(pen, kept.length, x, y);
    pen.globalAlpha = 1;
  },

  // Ringed in white, so that it reads on every colour and leaves the colour to be seen.
  drawCount(pen, count, x, y) {
    pen.font = "bold 13px system-ui, sans-serif";
    pen.textAlign = "center";
    pen.textBaseline = "middle";
    pen.lineWidth = 4;
    pen.strokeStyle = "#ffffff";
    pen.fillStyle = turfmap.paint.INK;
    pen.strokeText(count, x, y + 0.5);
    pen.fillText(count, x, y + 0.5);
  },

  // What lies at a place, under a finger `reach` wide: nothing hidden is found.
  at(x, y, reach, scale) {
    const touched = ({ shape }) => turfmap.shapes.touches(shape, x, y, reach);
    const found = { zones: [], things: [], no_spray: [], odd: [], property: null };
    let nearest = Infinity; // signs may overlap: the one whose middle is nearest is meant
    for (const property of this.content.properties) {
      const [west, north, east, south] = property.box;
      const isNear = x > west - reach && x < east + reach && y > north - reach && y < south + reach;
      if (!isNear || !this.isShown("zone")) continue;
      if (!this.isSign(property, scale)) found.zones.push(...property.zones.filter(touched));
      else {
        const [middleX, middleY] = turfmap.shapes.middle(property.box);
        const distance = Math.hypot(x - middleX, y - middleY);
        if (distance < nearest) [nearest, found.property] = [distance, property];
      }
    }
    for (const layer of this.ORDER) {
      if (layer === "zone" || !this.isShown(layer)) continue;
      const here = (this.content.things[layer] || []).filter(touched);
      if (layer === "no_spray" || layer === "odd") found[layer] = here;
      else found.things.push(...here);
    }
    return found;
  },
});
