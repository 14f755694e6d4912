// The map on the table: picture, ground, what is marked on it, and what a drawing may snap to.
"use strict";

turfmap.board = (ledger, place) => {
  const { earth, shapes, paint, words } = turfmap;
  const MARKED = { color: "#1b1f18", weight: 5, fill: false, interactive: false, className: "marked" };
  const WRONG = { color: "#8a1300", weight: 4, dashArray: "8 6", fillColor: "#8a1300", fillOpacity: 0.3,
    interactive: false };
  const SNAP = { opacity: 0, fill: false, interactive: false, snapIgnore: false, pane: "snapping" };
  const MOST_TARGETS = 400;
  const FINGER = 10;
  const HEAD = 76; // pixels of the map that its buttons lie over
  const FOOT = 130; // and the bar while one draws, where it lies on the map and not under it
  const footOf = () => (place.writable && matchMedia("(min-width: 60.01rem)").matches ? FOOT : 24);

  const map = L.map("map_ground", {
    attributionControl: false, fadeAnimation: false, zoomAnimation: false, inertia: false,
    doubleClickZoom: false, keyboard: false, maxZoom: 23, zoomControl: false, zoomSnap: 0.5,
  });
  map.setView([0, 0], 2);
  for (const name of ["snapping", "keeping_off"]) map.createPane(name).classList.add("untouched");
  const container = map.getContainer();
  container.tabIndex = 0;
  L.PM.setOptIn(true);
  L.control.zoom({ position: "topright" }).addTo(map);
  L.control.scale({ maxWidth: 120, position: "bottomleft" }).addTo(map);

  const ground = new turfmap.DrawnGround(ledger.content(), () => true, { signsBelow: 32 });
  const keepingOff = L.layerGroup().addTo(map);
  const marks = L.layerGroup().addTo(map);
  const wrongs = L.layerGroup().addTo(map);
  const targets = L.layerGroup();
  const keepingOffRenderer = L.canvas({ pane: "keeping_off" });
  let hidden = null;
  let isAiming = false;

  const under = turfmap.picture(place);
  if (under) showPicture();

  function showPicture() {
    const credit = words.element("p", { class: "credit", text: (place.picture || place.address).credit || "" });
    const control = L.control({ position: "bottomleft" });
    control.onAdd = () => credit;
    const button = words.element("button", { type: "button", class: "picture-switch", "aria-pressed": "true",
      text: "Picture" });
    const onMap = L.control({ position: "topright" });
    onMap.onAdd = () => button;
    onMap.addTo(map);
    L.DomEvent.disableClickPropagation(button);
    function turn(isOn) {
      button.setAttribute("aria-pressed", String(isOn));
      under[isOn ? "addTo" : "removeFrom"](map);
      if (isOn && credit.textContent) control.addTo(map);
      else control.remove();
      ground.isSheer = isOn;
      ground.redraw();
    }
    button.addEventListener("click", () => turn(!map.hasLayer(under)));
    turn(true);
  }

  function redraw() {
    const content = ledger.content(hidden);
    const sizes = content.properties.map(({ box }) => ground.across(box)).sort((a, b) => a - b);
    ground.usual = sizes[sizes.length >> 1];
    ground.content = content;
    ground.redraw();
  }

  // The one in hand is drawn by hand, not with the ground.
  function hide(id) {
    hidden = id;
    redraw();
  }

  function fit() {
    map.invalidateSize({ animate: false });
    const shape = { box: shapes.boxAround(ledger.all().map((item) => item.shape)) };
    if (shape.box[0] <= shape.box[2]) map.fitBounds(earth.boundsOf(shape), { paddingTopLeft: [24, HEAD],
      paddingBottomRight: [24, footOf()], maxZoom: 20, animate: false });
    else if (place.bounds) {
      const [west, south, east, north] = place.bounds;
      map.fitBounds([[south, west], [north, east]], { paddingTopLeft: [8, 8],
        paddingBottomRight: [8, footOf()], maxZoom: 20, animate: false });
    }
  }

  // Near enough that its corners do not lie on each other; `below` is what lies over the map's foot.
  function goTo(shape, below = 0) {
    if (!shape.count) return;
    const edge = container.clientHeight < 420 ? 28 : 70;
    map.fitBounds(earth.boundsOf(shape), { paddingTopLeft: [edge, HEAD], maxZoom: 21, animate: false,
      paddingBottomRight: [edge, Math.max(edge, below + 28)] });
  }

  // The smallest zone or the topmost thing under a finger.
  function at(latLng) {
    const scale = map.options.crs.scale(map.getZoom());
    const [x, y] = [map.project(latLng).x / scale, map.project(latLng).y / scale];
    const found = ground.at(x, y, FINGER / scale, scale);
    if (found.property) return { property: found.property };
    const things = found.things.filter(({ layer }) => layer !== "property").reverse();
    const zones = found.zones.sort((one, other) => one.area_m2 - other.area_m2);
    const lines = found.things.filter(({ layer }) => layer === "property");
    return { items: [...things, ...zones, ...lines], noSpray: found.no_spray };
  }

  function mark(shape) {
    marks.clearLayers();
    for (const { kind, xy } of shape?.parts || []) {
      const corners = [];
      for (let i = 0; i < xy.length; i += 2) corners.push(shapes.latLng(xy[i], xy[i + 1]));
      if (kind === shapes.POINT) marks.addLayer(L.circleMarker(corners[0], { ...MARKED, radius: 14 }));
      else marks.addLayer((kind === shapes.RING ? L.polygon : L.polyline)(corners, MARKED));
    }
  }

  // Where something is wrong, whatever kind of shape that place is.
  function wrong(geometries) {
    wrongs.clearLayers();
    for (const geometry of geometries.filter(Boolean)) {
      L.geoJSON(geometry, { style: WRONG, pointToLayer: (_, latLng) =>
        L.circleMarker(latLng, { ...WRONG, radius: 13 }) }).addTo(wrongs);
    }
  }

  function goToPlace(geometry) {
    map.fitBounds(earth.boundsOf(earth.shapeOf(geometry)), { padding: [80, 80], maxZoom: 21, animate: false });
  }

  function keepOff(geometry) {
    keepingOff.clearLayers();
    if (!geometry) return;
    const look = paint.GROUND.no_spray;
    L.geoJSON(geometry, { interactive: false, pane: "keeping_off", renderer: keepingOffRenderer,
      style: { color: look.stroke, weight: look.width, fillColor: look.fill, fillOpacity: 1 } }).addTo(keepingOff);
  }

  // What lies in sight, unseen, for corners and edges to snap to.
  function aim(isOn) {
    isAiming = isOn;
    targets.clearLayers();
    if (!isOn) return targets.removeFrom(map);
    const view = map.getBounds().pad(0.3);
    const near = ledger.all().filter((item) => item.id !== hidden && item.shape.count &&
      view.intersects(earth.boundsOf(item.shape))).slice(0, MOST_TARGETS);
    for (const { geometry } of near) {
      L.geoJSON(geometry, { ...SNAP, style: SNAP, pointToLayer: (_, latLng) =>
        L.circleMarker(latLng, { ...SNAP, radius: 1 }) }).eachLayer((layer) => targets.addLayer(layer));
    }
    return targets.addTo(map);
  }

  map.on("moveend", () => isAiming && aim(true));
  new ResizeObserver(() => map.invalidateSize({ animate: false })).observe(container);
  ground.addTo(map);
  return { map, redraw, hide, fit, goTo, goToPlace, at, mark, wrong, keepOff, aim };
};
