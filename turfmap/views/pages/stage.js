// What every map page does: draws the ground, and opens what is known of a place.
"use strict";

turfmap.page = (() => {
  // Zones by property. What is painted last lies on top: the property whose zone comes first.
  function propertiesOf(zones) {
    const byName = new Map();
    for (const zone of zones) {
      if (byName.has(zone.property)) byName.get(zone.property).push(zone);
      else byName.set(zone.property, [zone]);
    }
    return [...byName.values()].reverse().map((of) =>
      ({ zones: of, box: turfmap.shapes.boxAround(of.map(({ shape }) => shape)) }));
  }

  // Where a label goes and the room it has, from thousandths of a shape's box.
  function label([west, north, east, south], [right, up], room) {
    const part = (south - north) / 1000;
    return { centre: [west + ((east - west) * right) / 1000, south - part * up], room: part * room };
  }

  return { propertiesOf, label };
})();

turfmap.stage = (map, groups, content, { ofPlace, signsBelow = 0 }) => {
  const { shapes, controls } = turfmap;
  const NARROW_MAP = 560; // a popup has to lie over the buttons on anything narrower
  const EDGE = 18; // pixels between the ground and the edge of the map, when all of it is shown
  const DEEPEST_FIT = 20;

  const isShown = (layer) => layer in groups && map.hasLayer(groups[layer]);
  const ground = new turfmap.Ground(content, isShown, { signsBelow });
  const outline = L.layerGroup().addTo(map);
  const whole = wholeOf(content);
  const isEmpty = whole[0] > whole[2];
  const bounds = (box) => L.latLngBounds(shapes.latLng(box[0], box[3]), shapes.latLng(box[2], box[1]));
  let isWhole = false;
  let opened = null;

  // All zones and property lines, and what lies near them: a map of one property is of no other.
  function wholeOf({ zones, things }) {
    const all = Object.values(things).flat().map(({ shape }) => shape);
    const main = [...zones, ...(things.property || [])].map(({ shape }) => shape);
    const box = shapes.boxAround(main.some(({ count }) => count) ? main : all);
    const near = 0.15 * Math.max(box[2] - box[0], box[3] - box[1]);
    const [west, north, east, south] = [box[0] - near, box[1] - near, box[2] + near, box[3] + near];
    return shapes.boxAround([...main, ...all.filter(({ box: own }) =>
      own[0] >= west && own[1] >= north && own[2] <= east && own[3] <= south)]);
  }

  // Zooms are whole, for sharp pictures. So that the whole map still fills its frame, they are
  // counted from the scale that fits it: the same square, `share` of a zoom nearer.
  function fit() {
    map.invalidateSize({ animate: false });
    const { x, y } = map.getSize();
    if (isEmpty || Math.min(x, y) <= 2 * EDGE) return;
    const across = Math.min((x - 2 * EDGE) / (whole[2] - whole[0]), (y - 2 * EDGE) / (whole[3] - whole[1]));
    const zoom = Math.max(0, Math.min(DEEPEST_FIT, Math.log2(across / 256)));
    const share = zoom % 1;
    map.options.crs = L.extend({}, L.CRS.EPSG3857, {
      scale: (level) => 256 * 2 ** (level + share),
      zoom: (scale) => Math.log2(scale / 256) - share,
    });
    map.setView(shapes.latLng(...shapes.middle(whole)), Math.floor(zoom), { reset: true });
    isWhole = true;
  }

  function mark(shape) {
    outline.clearLayers();
    for (const { kind, xy } of shape?.parts || []) {
      const corners = [];
      for (let i = 0; i < xy.length; i += 2) corners.push(shapes.latLng(xy[i], xy[i + 1]));
      const draw = kind === shapes.RING ? L.polygon : L.polyline;
      for (const [color, weight] of [["#ffffff", 8], ["#1b1f18", 4]]) {
        outline.addLayer(draw(corners, { color, weight, fill: false, interactive: false }));
      }
    }
  }

  function open(found, latLng) {
    const size = map.getSize();
    const isNarrow = size.x < NARROW_MAP;
    map.getContainer().classList.toggle("is-narrow", isNarrow);
    const [side, tip] = isNarrow ? [10, 30] : [68, 40];
    const popup = L.popup({
      maxWidth: Math.min(400, size.x - 2 * (isNarrow ? side : 24)),
      minWidth: Math.min(isNarrow ? 400 : 320, size.x - 2 * (isNarrow ? side : 24)),
      maxHeight: Math.max(150, isNarrow ? size.y - tip - 24 : Math.round(size.y * 0.74)),
      autoPanPaddingTopLeft: [side, 10],
      autoPanPaddingBottomRight: [side, isNarrow ? 4 : 12],
    }).setLatLng(latLng).setContent(ofPlace(found)).openOn(map);
    opened = { popup, found };
    mark(found.odd[0]?.shape || found.zones[0]?.shape); // after the popup before it has closed
    return popup;
  }

  // What is open says the new thing when the day or the task changes.
  function refresh() {
    map.invalidateSize({ animate: false }); // what stands above the map may have grown
    if (opened) opened.popup.setContent(ofPlace(opened.found));
  }

  const nothing = { zones: [], no_spray: [], things: [], odd: [] };

  // From the list: the same details as a touch on the map, and the keyboard goes along.
  function choose(item, found, from) {
    isWhole = false;
    if (item.shape.count) map.fitBounds(bounds(item.shape.box), { maxZoom: 19, animate: false });
    const at = item.shape.count ? shapes.latLng(...item.centre) : map.getCenter();
    const popup = open({ ...nothing, ...found }, at);
    map.getContainer().scrollIntoView({ block: "nearest" });
    popup.getElement().querySelector("h2").focus({ preventScroll: true });
    popup.once("remove", () => from.isConnected && from.focus({ preventScroll: true }));
  }

  function touch({ latlng }) {
    const scale = map.options.crs.scale(map.getZoom());
    const { x, y } = L.CRS.EPSG3857.latLngToPoint(latlng, 0).divideBy(256);
    const found = { ...ground.at(x, y, 14 / scale, scale), at: [x, y] };
    if (found.property && !found.zones.length) {
      return map.fitBounds(bounds(found.property.box), { maxZoom: 19 });
    }
    const isBare = !found.zones.length && !found.no_spray.length && !found.odd.length &&
      !found.things.some(({ layer }) => layer !== "property");
    return isBare ? mark(null) : open(found, latlng);
  }

  function keepOnly(kept) {
    ground.isKept = kept ? (item) => kept.has(item) : () => true;
    ground.redraw();
  }

  const resized = () => (isWhole ? fit() : map.invalidateSize({ animate: false }));

  controls.groundKey(content);
  controls.wholeMap(map, fit);
  if (!isEmpty) L.control.scale({ maxWidth: 140 }).addTo(map);
  for (const group of Object.values(groups)) group.on("add remove", () => ground.redraw());
  // Leaflet hears this key only while the map itself has the focus.
  document.addEventListener("keydown", ({ key }) => key === "Escape" && map.closePopup());
  matchMedia("print").addEventListener("change", resized); // paper has a size of its own
  map.on("click", touch).on("resize", () => isWhole && fit());
  map.on("dragstart zoomstart", () => { isWhole = false; });
  map.on("popupopen popupclose", ({ type, popup }) => {
    map.getContainer().classList.toggle("has-popup", type === "popupopen");
    if (type === "popupopen" || opened?.popup !== popup) return;
    opened = null;
    mark(null);
  });
  fit();
  ground.addTo(map);
  return { choose, keepOnly, refresh, redraw: () => ground.redraw() };
};
